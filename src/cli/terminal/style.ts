import type { Severity } from '../../judge/file-report.ts';

/** Ways to set text apart. Without colour each gives its text back unchanged, and nothing is lost: word and shape remain. */
export interface Style {
  strong(text: string): string;
  quiet(text: string): string;
  severity(severity: Severity, text: string): string;
}

const sgr = (code: string) => (text: string) => `\u001b[${code}m${text}\u001b[0m`;
const plain = (text: string) => text;

// Told apart by lightness as well as hue, on dark and light terminals.
const severityCodes: Record<Severity, string> = { mend: '1;31', look: '33', fine: '36' };

export const plainStyle: Style = { strong: plain, quiet: plain, severity: (_severity, text) => text };

const colourStyle: Style = {
  strong: sgr('1'),
  quiet: sgr('2'),
  severity: (severity, text) => sgr(severityCodes[severity])(text),
};

/** Colour only on a terminal; FORCE_COLOR (other than 0) asks for it anywhere, NO_COLOR (not empty) forbids it. */
export function styleFor(
  isTerminal: boolean,
  env: Readonly<Record<string, string | undefined>> = process.env,
): Style {
  if (env.FORCE_COLOR !== undefined) return env.FORCE_COLOR === '0' ? plainStyle : colourStyle;
  if (env.NO_COLOR) return plainStyle;
  return isTerminal && env.TERM !== 'dumb' ? colourStyle : plainStyle;
}
