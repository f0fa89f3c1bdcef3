import type { Finding } from './file-report.ts';
import { count, inSentence, list, sentenceCase } from './wording.ts';

const named = 3;

function titles(findings: readonly Finding[]): string {
  const shown = findings.slice(0, named).map((f) => inSentence(f.title));
  const rest = findings.length - shown.length;
  return list(rest > 0 ? [...shown, `${count(rest, 'more', 'more')}`] : shown);
}

/** The verdict in one plain sentence. `findings` in order of weight; `ready`: what can be done with a file that has none (Profile.ready). */
export function headlineOf(findings: readonly Finding[], ready: string): string {
  const mend = findings.filter((f) => f.severity === 'mend');
  const look = findings.filter((f) => f.severity === 'look');
  if (mend.length > 0)
    return `${sentenceCase(count(mend.length, 'thing'))} to mend before this leaves the bench: ${titles(mend)}.`;
  if (look.length > 0) return `Nothing to mend; ${count(look.length, 'thing')} to look at: ${titles(look)}.`;
  return `Nothing to mend and nothing to look at: ${ready}.`;
}
