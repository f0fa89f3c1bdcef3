import {
  type FigureGroup,
  type FigureTable,
  figureNumber,
  noFigure,
  type Sought,
} from '../judge/figures/figure.ts';
import type { FileReport } from '../judge/file-report.ts';
import { html, type Markup } from './markup.ts';

/** The figures of some groups as a list, and their tables below it. */
export function figureGroupsHtml(report: FileReport, groups: readonly FigureGroup[]): Markup[] {
  const there = groups.filter((group) => !group.absent?.(report));
  const figures = there.flatMap((group) => group.figures);
  return [
    ...groups.flatMap((group) => {
      const absent = group.absent?.(report) ?? null;
      return absent === null ? [] : [html`<p class="about">${absent}</p>`];
    }),
    ...(figures.length === 0
      ? []
      : [
          html`<dl class="figures">${figures.map((figure) => {
            const number = figureNumber(figure, report);
            const text = number === noFigure || figure.unit === '' ? number : `${number} ${figure.unit}`;
            return html`<div title="${figure.meaning}"><dt>${figure.label}</dt><dd>${text}</dd></div>`;
          })}</dl>`,
        ]),
    ...there.flatMap((group) =>
      group.tables.filter(({ drawn }) => !drawn).map((table) => tableHtml(table, report)),
    ),
    ...there.flatMap((group) => (group.sought.length === 0 ? [] : [soughtHtml(group.sought, report)])),
  ];
}

function tableHtml({ title, columns, rows }: FigureTable, report: FileReport): Markup {
  const all = rows(report);
  if (all.length === 0) return html``;
  const side = (align: 'left' | 'right') => (align === 'right' ? 'figure' : '');
  return html`<div class="wide" tabindex="0" role="region" aria-label="${title}"><table>
<caption>${title}</caption>
<thead><tr>${columns.map(
    ({ head, unit, align }) =>
      html`<th scope="col" class="${side(align)}">${unit ? `${head}, ${unit}` : head}</th>`,
  )}</tr></thead>
<tbody>${all.map(
    (row) =>
      html`<tr>${row.map((text, i) => html`<td class="${side(columns[i].align)}">${text}</td>`)}</tr>
`,
  )}</tbody>
</table></div>
`;
}

function soughtHtml(all: readonly Sought[], report: FileReport): Markup {
  return html`<table>
<thead><tr><th scope="col">Looked for</th><th scope="col">Found</th></tr></thead>
<tbody>${all.map((sought) => {
    const untold = sought.untold?.(report) ?? null;
    return html`<tr><td title="${sought.meaning}">${sought.label}</td><td>${untold ?? sought.found(report) ?? 'nothing'}</td></tr>
`;
  })}</tbody>
</table>
`;
}
