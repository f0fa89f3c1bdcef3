import { figure } from '../../judge/wording.ts';
import { consistencyFigures, type RecordConsistency } from '../consistency.ts';
import { html, type Markup } from '../markup.ts';

const width = 640;
const rowHeight = 64;
const [left, right] = [16, 624];

/**
 * Songs beside each other: a row a figure, each song's number where it lies; the tick is the record's middle, the line
 * around it what is usual. Numbers that would cover each other stand one above the other.
 */
export function recordFiguresPlot({ songs, middle }: RecordConsistency): Markup {
  return html`<svg class="plot" viewBox="0 0 ${width} ${consistencyFigures.length * rowHeight}" role="img" aria-label="Songs beside each other, figure by figure">
${consistencyFigures.map(({ id, label, unit, usual }, row) => {
  const values = songs.flatMap(({ figures }, i) => {
    const value = figures[id];
    return value === null ? [] : [{ song: i + 1, value }];
  });
  const centre = middle[id];
  if (values.length === 0 || centre === null) return '';
  const reach = Math.max(usual * 1.5, ...values.map(({ value }) => Math.abs(value - centre) * 1.1));
  const x = (value: number) => left + ((value - centre + reach) / (2 * reach)) * (right - left);
  const y = row * rowHeight + 42;
  const taken: { x: number; level: number }[] = [];
  const placed = [...values]
    .sort((a, b) => a.value - b.value)
    .map(({ song, value }) => {
      const at = x(value);
      let level = 0;
      while (taken.some((other) => other.level === level && Math.abs(other.x - at) < 14)) level++;
      taken.push({ x: at, level });
      return { song, at, level };
    });
  return html`<text x="${left}" y="${y - 30}">${label}, ${unit}</text>
<line class="rule" x1="${left}" x2="${right}" y1="${y}" y2="${y}"/>
<line class="thick" x1="${x(centre - usual).toFixed(1)}" x2="${x(centre + usual).toFixed(1)}" y1="${y}" y2="${y}"/>
<line class="axis" x1="${x(centre).toFixed(1)}" x2="${x(centre).toFixed(1)}" y1="${y - 6}" y2="${y + 6}"/>
<text x="${x(centre).toFixed(1)}" y="${y + 17}" text-anchor="middle">${figure(centre)}</text>
<text x="${left}" y="${y + 17}">${figure(centre - reach)}</text>
<text x="${right}" y="${y + 17}" text-anchor="end">${figure(centre + reach)}</text>
${placed.map(({ song, at, level }) => html`<text class="song-number" x="${at.toFixed(1)}" y="${y - 5 - 11 * level}" text-anchor="middle">${song}</text>`)}`;
})}
</svg>`;
}
