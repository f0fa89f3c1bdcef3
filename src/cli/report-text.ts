import { noFigure } from '../judge/figures/figure.ts';
import type { FileReport, Finding, Severity } from '../judge/file-report.ts';
import { type SourceId, sources } from '../judge/sources.ts';
import { clockTime, limitText, signed, withUnit } from '../judge/wording.ts';
import { figureLines, type TextOptions } from './figure-text.ts';
import { printable } from './terminal/printable.ts';
import type { Style } from './terminal/style.ts';
import { table } from './terminal/table.ts';
import { hang, wrap } from './terminal/wrap.ts';

const shapes: Record<Severity, string> = { mend: '◆', look: '○', fine: '✓' };
const placesNamed = 6;

/** The report on one file as text for a terminal, ending with a line break. */
export function reportText(report: FileReport, { style, width, all }: TextOptions): string {
  const lines = [
    style.strong(printable(report.file.name)),
    style.quiet(aboutFile(report.file)),
    style.quiet(`held against: ${report.profile.name} (--profile ${report.profile.id})`),
    '',
    ...wrap(printable(report.headline), width).map(style.strong),
    '',
    ...report.findings.flatMap((finding) => findingLines(finding, style, width)),
    '',
    ...figureLines(report, { style, width, all }),
    ...(report.loudness.reason === null ? [] : hang('  ', printable(report.loudness.reason), width)),
    ...lossyLines(report, style),
    ...(all ? [] : ['', style.quiet('  “--all” prints every figure, “--html” draws them.')]),
  ];
  return `${lines.join('\n')}\n`;
}

function aboutFile(file: FileReport['file']): string {
  return [
    file.container === file.codec ? file.codec : `${file.container}, ${file.codec}`,
    ...(file.bitDepth === null ? [] : [`${file.bitDepth} bit`]),
    withUnit(
      file.sampleRate / 1000,
      'kHz',
      file.sampleRate % 1000 === 0 ? 0 : file.sampleRate % 100 === 0 ? 1 : 3,
    ),
    file.channels === 1 ? 'mono' : file.channels === 2 ? 'stereo' : `${file.channels} channels`,
    file.seconds < 1 ? `${file.frames} samples` : clockTime(file.seconds),
  ]
    .map(printable)
    .join(', ');
}

function findingLines(finding: Finding, style: Style, width: number): string[] {
  const mark = `${shapes[finding.severity]} ${finding.severity}  `;
  const indent = ' '.repeat(mark.length);
  const marked = ([first, ...rest]: string[], dress: (text: string) => string) => [
    style.severity(finding.severity, mark) + dress(first.slice(mark.length)),
    ...rest,
  ];
  // What is good is told in passing: one paragraph, no blank line between.
  if (finding.severity === 'fine')
    return marked(hang(mark, printable(`${finding.title}. ${finding.detail}`), width), (text) => text);
  return [
    ...marked(hang(mark, printable(finding.title), width), style.strong),
    ...hang(indent, printable(finding.detail), width),
    ...(finding.advice === '' ? [] : hang(`${indent}→ `, printable(finding.advice), width)),
    ...(finding.spans.length === 0 ? [] : hang(indent, places(finding), width)),
    ...hang(indent, byWhose(finding), width).map(style.quiet),
    '',
  ];
}

function byWhose({ limit, unit, source }: Finding): string {
  const known = Object.hasOwn(sources, source) ? sources[source as SourceId] : null;
  const origin = known === null ? source : `${known.title} (${known.mark})`;
  return limit === null ? origin : `limit ${limitText(limit, unit)}: ${origin}`;
}

function places({ spans }: Finding): string {
  // Several overs within a tenth of a second are one place to a listener.
  const times = [...new Set(spans.map((span) => clockTime(span.startSeconds)))];
  const named = times.slice(0, placesNamed).join(', ');
  const more = times.length - placesNamed;
  return more > 0 ? `at ${named} and ${more} more` : `at ${named}`;
}

function lossyLines(report: FileReport, style: Style): string[] {
  if (report.lossy.length === 0) return [];
  const [head, ...rows] = table(
    [
      { head: 'coded as', align: 'left' },
      { head: 'rate', align: 'right' },
      { head: 'true peak after', align: 'right' },
      { head: 'growth', align: 'right' },
      { head: 'overs', align: 'right' },
      { head: 'encoder', align: 'left' },
    ],
    report.lossy.map((trip) => [
      trip.format,
      withUnit(trip.actualKbps, 'kb/s', 0),
      trip.truePeakDbtp === null ? noFigure : signed(trip.truePeakDbtp, 'dBTP'),
      trip.growthDb === null ? noFigure : signed(trip.growthDb, 'dB'),
      String(trip.overs),
      printable(trip.encoder),
    ]),
  );
  return ['', style.quiet(`  ${head}`), ...rows.map((row) => `  ${row}`)];
}
