export interface Column {
  readonly head: string;
  /** Figures stand to the right, so that their points are below each other. */
  readonly align: 'left' | 'right';
}

/** Rows in aligned columns, a line each; the first line is the head. No column is cut. */
export function table(columns: readonly Column[], rows: readonly (readonly string[])[]): string[] {
  const widths = columns.map((column, c) =>
    Math.max(column.head.length, ...rows.map((row) => row[c].length)),
  );
  const draw = (cells: readonly string[]) =>
    cells
      .map((cell, c) => (columns[c].align === 'right' ? cell.padStart(widths[c]) : cell.padEnd(widths[c])))
      .join('  ')
      .trimEnd();
  return [draw(columns.map((column) => column.head)), ...rows.map(draw)];
}
