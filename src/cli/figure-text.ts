import { type Figure, type FigureGroup, type FigureTable, figureNumber } from '../judge/figures/figure.ts';
import { groupsFor } from '../judge/figures/groups.ts';
import type { FileReport } from '../judge/file-report.ts';
import { printable } from './terminal/printable.ts';
import type { Style } from './terminal/style.ts';
import { table } from './terminal/table.ts';
import { hang } from './terminal/wrap.ts';

export interface TextOptions {
  readonly style: Style;
  /** Columns of the terminal. */
  readonly width: number;
  /** Every figure, not only those that matter most. */
  readonly all: boolean;
}

const indent = '  ';

/** The figures of a report: those that matter most in one block, or every group under its title. */
export function figureLines(report: FileReport, options: TextOptions): string[] {
  if (options.all) return groupsFor(report).flatMap((group) => groupLines(group, report, options));
  const shown = groupsFor(report)
    .filter((group) => !group.absent?.(report))
    .flatMap((group) => group.figures.filter(({ main }) => main));
  return aligned(shown, report);
}

function aligned(figures: readonly Figure[], report: FileReport): string[] {
  if (figures.length === 0) return [];
  const columns = (['left', 'right', 'left'] as const).map((align) => ({ head: '', align }));
  const rows = figures.map((figure) => [figure.label, figureNumber(figure, report), figure.unit]);
  return table(columns, rows)
    .slice(1)
    .map((line) => indent + line);
}

function groupLines(group: FigureGroup, report: FileReport, { style, width }: TextOptions): string[] {
  const absent = group.absent?.(report) ?? null;
  const title = style.strong(indent + group.title);
  if (absent !== null) return [title, ...hang(indent, printable(absent), width), ''];
  return [
    title,
    ...aligned(group.figures, report),
    ...group.tables.flatMap((each) => tableLines(each, report, style)),
    ...group.sought.flatMap((sought) => {
      const untold = sought.untold?.(report) ?? null;
      const found = untold ?? sought.found(report);
      const mark = untold !== null ? '–' : found === null ? '✓' : '○';
      return hang(`${indent}${mark} `, printable(`${sought.label}: ${found ?? 'none'}`), width);
    }),
    '',
  ];
}

function tableLines({ title, columns, rows }: FigureTable, report: FileReport, style: Style): string[] {
  const all = rows(report);
  if (all.length === 0) return [];
  const [head, ...lines] = table(
    columns.map((column) => ({
      head: column.unit ? `${column.head} ${column.unit}` : column.head,
      align: column.align,
    })),
    all,
  );
  return [
    '',
    style.quiet(`${indent}${title}`),
    style.quiet(indent + head),
    ...lines.map((line) => indent + line),
  ];
}
