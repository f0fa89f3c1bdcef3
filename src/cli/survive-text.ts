import { clockTime, count, figure, signed, withUnit } from '../judge/wording.ts';
import { keepsLimit } from '../survive/ceiling-search.ts';
import type { Ceiling, FormatSurvival, SurviveReport } from '../survive/survive-report.ts';
import { printable } from './terminal/printable.ts';
import type { Style } from './terminal/style.ts';
import { table } from './terminal/table.ts';
import { hang, wrap } from './terminal/wrap.ts';

export interface SurviveTextOptions {
  readonly style: Style;
  /** Columns of the terminal. */
  readonly width: number;
}

const none = '–';
const formatsTold = 5;
const momentsTold = 5;

/** What lossy coding does to one file, as text for a terminal, ending with a line break. */
export function surviveText(report: SurviveReport, { style, width }: SurviveTextOptions): string {
  const lines = [
    style.strong(printable(report.file.name)),
    style.quiet(aboutFile(report)),
    '',
    ...wrap(report.headline, width).map(style.strong),
    '',
    ...(report.formats.length > 0 ? [...formatTable(report, style), ''] : []),
    ...inWords(report, style, width),
    ...report.failed.flatMap(({ format, code, reason }) => [
      ...hang(`${format}: `, `could not be tried. ${printable(reason)} (${code})`, width),
      '',
    ]),
    ...momentLines(report, width),
    ...(report.ceiling ? ceilingLines(report.ceiling, style, width) : []),
    ...leanings(report.formats, width).map(style.quiet),
    ...encoderLines(report.formats).map(style.quiet),
  ];
  while (lines.at(-1) === '') lines.pop();
  return `${lines.join('\n')}\n`;
}

function aboutFile({ file, before }: SurviveReport): string {
  const peak =
    before.truePeakDbtp === null ? 'silence' : `true peak ${signed(before.truePeakDbtp, 'dBTP', 2)}`;
  const loudness = before.integratedLufs === null ? '' : `, ${withUnit(before.integratedLufs, 'LUFS')}`;
  return `${withUnit(file.sampleRate / 1000, 'kHz')}, ${clockTime(file.seconds)}, ${peak}${loudness}`;
}

function formatTable({ formats, limitDbtp }: SurviveReport, style: Style): string[] {
  const target = formats[0].atTargets[0];
  const [head, ...rows] = table(
    [
      { head: 'coded as', align: 'left' },
      { head: 'kb/s', align: 'right' },
      { head: 'dBTP after', align: 'right' },
      { head: 'growth', align: 'right' },
      { head: 'overs', align: 'right' },
      { head: 'cut', align: 'right' },
      { head: 'for', align: 'right' },
      { head: target ? `at ${figure(target.targetLufs, 0)} LUFS` : '', align: 'right' },
      { head: 'noise', align: 'right' },
      { head: 'up to', align: 'right' },
    ],
    formats.map((each) => [
      `${keepsLimit(each.truePeakDbtp, limitDbtp) ? ' ' : '◆'} ${each.format}`,
      figure(each.actualKbps, 0),
      each.truePeakDbtp === null ? none : signed(each.truePeakDbtp, '', 2),
      each.growthDb === null ? none : signed(each.growthDb, '', 2),
      each.overs === 0 ? none : String(each.overs),
      each.clip.samples === 0 ? none : String(each.clip.samples),
      each.clip.samples === 0 ? none : withUnit(each.clip.seconds * 1000, 'ms'),
      atTargetText(each.atTargets[0]),
      each.noise.noiseToSoundDb === null ? none : withUnit(each.noise.noiseToSoundDb, 'dB', 0),
      each.bandwidth.afterHz === null ? none : withUnit(each.bandwidth.afterHz / 1000, 'kHz'),
    ]),
  );
  return [
    style.quiet(`  ${head}`),
    ...rows.map((row) => (row.startsWith('◆') ? style.severity('mend', row) : row)),
    style.quiet(
      `◆ above ${signed(limitDbtp, 'dBTP')}; cut: samples that a 16-bit player cuts off; noise: against the sound`,
    ),
  ].map((line) => line);
}

function atTargetText(target: FormatSurvival['atTargets'][number] | undefined): string {
  if (!target || target.levelChangeDb === null || target.truePeakDbtp === null) return none;
  return target.cannotClip ? 'cannot clip' : signed(target.truePeakDbtp, '', 2);
}

/** The formats over the limit, the highest first, in plain words; when none is, the coarsest of each kind has its say in the table. */
function inWords({ formats, limitDbtp }: SurviveReport, style: Style, width: number): string[] {
  const over = formats
    .filter(({ truePeakDbtp }) => !keepsLimit(truePeakDbtp, limitDbtp))
    .sort((a, b) => (b.truePeakDbtp ?? 0) - (a.truePeakDbtp ?? 0));
  const told = over.length > 0 ? over.slice(0, formatsTold) : formats.slice(0, 1);
  const lines = told.flatMap(({ format, sentence }) => {
    const [first, ...rest] = wrap(`${format}: ${sentence}`, width - 2);
    return [
      style.strong(first.slice(0, format.length + 1)) + first.slice(format.length + 1),
      ...rest.map((line) => `  ${line}`),
    ];
  });
  const more = over.length - told.length;
  return [
    ...lines,
    ...(more > 0 ? [style.quiet(`and ${count(more, 'more', 'more')}, see the table`)] : []),
    '',
  ];
}

function momentLines({ moments, limitDbtp }: SurviveReport, width: number): string[] {
  const over = moments.filter(({ formats }) => formats.length > 0).slice(0, momentsTold);
  if (over.length === 0) return [];
  return [
    `What decides (above ${signed(limitDbtp, 'dBTP')}):`,
    ...over.flatMap(({ startSeconds, peakDbtp, formats }) =>
      hang(
        `  ${clockTime(startSeconds).padStart(8)}  ${signed(peakDbtp, 'dBTP', 2)}  `,
        formats.length > 3
          ? `${formats.slice(0, 3).join(', ')} and ${formats.length - 3} more`
          : formats.join(', '),
        width,
      ),
    ),
    '',
  ];
}

function ceilingLines(ceiling: Ceiling, style: Style, width: number): string[] {
  const [first, ...others] = ceiling.answers;
  const lines = [
    ...(first ? wrap(first, width).map(style.strong) : []),
    ...others.flatMap((answer) => wrap(answer, width)),
    '',
  ];
  if (ceiling.trimDb === 0 && ceiling.failed.length === 0) return lines;
  const [head, ...rows] = table(
    [
      { head: 'alone', align: 'left' },
      { head: 'trim', align: 'right' },
      { head: 'ceiling', align: 'right' },
      { head: `after ${withUnit(ceiling.trimDb, 'dB', 2)} less`, align: 'right' },
      { head: 'jumps', align: 'right' },
      { head: 'encodes', align: 'right' },
    ],
    ceiling.formats.map((each) => [
      each.format,
      withUnit(each.trimDb, 'dB', 2),
      signed(each.ceilingDbtp, 'dBTP', 2),
      each.verifiedDbtp === null ? none : signed(each.verifiedDbtp, 'dBTP', 2),
      each.jumpDb === null ? none : withUnit(each.jumpDb, 'dB', 2),
      String(each.encodes),
    ]),
  );
  const failed = ceiling.failed.flatMap(({ format, code, reason }) =>
    hang(`  ${format}: `, `not searched. ${printable(reason)} (${code})`, width),
  );
  return [...lines, style.quiet(`  ${head}`), ...rows.map((row) => `  ${row}`), ...failed, ''];
}

/** Each leaning once, with the formats it is about. */
function leanings(formats: readonly FormatSurvival[], width: number): string[] {
  const about = new Map<string, string[]>();
  for (const { leaning, format } of formats)
    if (leaning !== '') about.set(leaning, [...(about.get(leaning) ?? []), format]);
  return [...about].flatMap(([leaning, named]) => wrap(`${named.join(', ')}: ${leaning}`, width));
}

function encoderLines(formats: readonly FormatSurvival[]): string[] {
  if (formats.length === 0) return [];
  return [
    '',
    ...table(
      [
        { head: 'format', align: 'left' },
        { head: 'encoder', align: 'left' },
        { head: 'settings', align: 'left' },
      ],
      formats.map(({ format, encoder, settings }) => [format, printable(encoder), printable(settings)]),
    ),
  ];
}
