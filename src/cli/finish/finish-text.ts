import type { FinishReport } from '../../judge/finish-report.ts';
import { clockTime, figure, signed, withUnit } from '../../judge/wording.ts';
import { keepsLimit } from '../../survive/ceiling-search.ts';
import { printable } from '../terminal/printable.ts';
import type { Style } from '../terminal/style.ts';
import { table } from '../terminal/table.ts';
import { wrap } from '../terminal/wrap.ts';

const none = '–';

/** What a finishing gave, as text for a terminal, ending with a line break. */
export function finishText(
  report: FinishReport,
  written: string | null,
  { style, width }: { readonly style: Style; readonly width: number },
): string {
  const { source, made, sentences, survive, steps } = report;
  const bits = made.bits === '32f' ? '32-bit floats' : `${made.bits} bits`;
  const lines = [
    style.strong(printable(`${source.name} → ${written ?? 'nothing written, this was a dry run'}`)),
    style.quiet(
      `${withUnit(made.sampleRate / 1000, 'kHz')}, ${bits}, ${made.channels === 1 ? 'mono' : 'stereo'}, ${clockTime(made.seconds)}`,
    ),
    '',
    ...sentences.flatMap((sentence, i) => {
      const rows = wrap(printable(sentence), width);
      return i === 0 ? rows.map(style.strong) : rows;
    }),
    '',
    ...figures(report, style),
    ...(survive ? ['', ...survival(survive, style)] : []),
    ...(steps.length > 0 ? ['', ...ceilings(steps, style)] : []),
    ...normalised(report, style),
  ];
  return `${lines.join('\n')}\n`;
}

function tableLines(columns: Parameters<typeof table>[0], rows: string[][], style: Style): string[] {
  const [head, ...body] = table(columns, rows);
  return [style.quiet(head), ...body];
}

const right = (head: string) => ({ head, align: 'right' as const });
const left = (head: string) => ({ head, align: 'left' as const });
const shown = (value: number | null, digits: number): string =>
  value === null ? none : figure(value, digits);

function figures({ source, made, cost }: FinishReport, style: Style): string[] {
  return tableLines(
    [left(''), right('LUFS'), right('dBTP'), right('crest dB')],
    [
      ['as it came', shown(source.integratedLufs, 2), shown(source.truePeakDbtp, 2), none],
      ...(cost ? [['before the limiter', none, none, shown(cost.crestBeforeDb, 1)]] : []),
      [
        'as written',
        shown(made.integratedLufs, 2),
        shown(made.truePeakDbtp, 2),
        shown(cost?.crestAfterDb ?? null, 1),
      ],
    ],
    style,
  );
}

function survival(survive: NonNullable<FinishReport['survive']>, style: Style): string[] {
  return tableLines(
    [left('coded as'), right('dBTP after'), left('')],
    [
      ...survive.formats.map(({ format, truePeakDbtp }) => [
        format,
        shown(truePeakDbtp, 2),
        keepsLimit(truePeakDbtp, survive.limitDbtp) ? 'stays under' : 'over',
      ]),
      ...survive.failed.map(({ format, reason }) => [format, none, printable(reason)]),
    ],
    style,
  );
}

function ceilings(steps: FinishReport['steps'], style: Style): string[] {
  return tableLines(
    [right('ceiling dBTP'), right('LUFS'), right('lost LU'), right('turned down dB'), right('at most dB')],
    steps.map((step) => [
      signed(step.ceilingDbtp, '', 2),
      shown(step.integratedLufs, 2),
      shown(step.lostLu, 2),
      figure(step.workingDb, 2),
      figure(step.deepestDb, 2),
    ]),
    style,
  );
}

function normalised({ normalised: rows }: FinishReport, style: Style): string[] {
  if (rows.length === 0) return [];
  return [
    '',
    ...tableLines(
      [left('where all is played at'), right('turned by dB'), right('plays at LUFS'), right('dBTP')],
      rows.map((row) => [
        withUnit(row.targetLufs, 'LUFS', 0),
        signed(row.turnedByDb, '', 1),
        figure(row.playsAtLufs, 1),
        shown(row.truePeakDbtp, 1),
      ]),
      style,
    ),
  ];
}
