import type { FileReport } from '../file-report.ts';
import { signed, withUnit } from '../wording.ts';

/** A figure as it is set in a table: its name, its unit, what it means and where it stands in the report. */
export interface Figure {
  readonly label: string;
  /** Empty for what is counted or has no unit. */
  readonly unit: string;
  readonly meaning: string;
  /** Decimals; one when left out, none for what is counted. */
  readonly digits?: number;
  /** Shown also where only what matters most is shown. */
  readonly main?: boolean;
  read(report: FileReport): number | null;
}

/** Several of a kind (bands, sections): a row each. Cells are text already; figures stand to the right. */
export interface FigureTable {
  readonly title: string;
  /** Left out where the same is drawn and can be read off the drawing. */
  readonly drawn?: boolean;
  readonly columns: readonly {
    readonly head: string;
    readonly unit?: string;
    readonly align: 'left' | 'right';
  }[];
  rows(report: FileReport): readonly (readonly string[])[];
}

/** One thing that was looked for, and whether it is there. */
export interface Sought {
  readonly label: string;
  readonly meaning: string;
  /** What was found, in words with figures; null: it was looked for and is not there. */
  found(report: FileReport): string | null;
  /** Why it could not be looked for; null: it could. */
  untold?(report: FileReport): string | null;
}

/** Figures that belong together, as the terminal, the report and the page all show them. */
export interface FigureGroup {
  readonly id: string;
  readonly title: string;
  readonly figures: readonly Figure[];
  readonly tables: readonly FigureTable[];
  readonly sought: readonly Sought[];
  /** Why the report holds nothing of this; null: it does. */
  absent?(report: FileReport): string | null;
}

/** What stands where a figure does not exist. */
export const noFigure = '–';

/** Decimals of a figure: what is counted is whole. */
export function digitsOf({ digits, unit }: Pick<Figure, 'digits' | 'unit'>): number {
  return digits ?? (unit === '' ? 0 : 1);
}

/** The number alone, as it stands in a column: peak levels carry their sign, because above and below full scale are different news. */
export function figureNumber(figure: Figure, report: FileReport): string {
  return cell(figure.read(report), figure.unit, digitsOf(figure));
}

/** A number in a cell of a table whose head names the unit. */
export function cell(value: number | null, unit = '', digits = 1): string {
  if (value === null) return noFigure;
  return unit === 'dBTP' || unit === 'dBFS' ? signed(value, '', digits) : withUnit(value, '', digits);
}
