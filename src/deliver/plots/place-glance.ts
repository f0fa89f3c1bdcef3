import type { SongInPlace } from '../../judge/places-report.ts';
import { figure } from '../../judge/wording.ts';
import { html, type Markup } from '../markup.ts';
import { at, linear } from './scale.ts';

const size = { width: 216, height: 112, left: 30, right: 212, top: 8, bottom: 92 } as const;
const names = ['bass', 'low mid', 'mid', 'pres.', 'air'] as const;

/** One place of the small multiples: the share of its time that each band is heard, and where the references lie. */
export function placeGlance({ place, effect, figures }: SongInPlace): Markup {
  const y = linear(1, 0, size.top, size.bottom);
  const x = linear(0, names.length, size.left, size.right);
  const bands = effect?.bands ?? [];
  const words = bands.map(
    ({ heardShare }, i) =>
      `${names[i]} ${heardShare === null ? 'not played' : `${figure(100 * heardShare, 0)} %`}`,
  );
  return html`<svg class="plot" role="img" aria-label="${place.name}, heard: ${words.join(', ')}" viewBox="0 0 ${size.width} ${size.height}">
${[0, 0.5, 1].map(
  (share) =>
    html`<line class="rule" x1="${size.left}" x2="${size.right}" y1="${at(y(share))}" y2="${at(y(share))}"/><text x="${size.left - 4}" y="${at(y(share) + 3.5)}" text-anchor="end">${share === 1 ? '100 %' : figure(100 * share, 0)}</text>`,
)}
${bands.map(({ band, heardShare }, i) => {
  const references = figures.find(({ name }) => name === `heard-${band}`)?.references;
  const [from, to] = [x(i + 0.18), x(i + 0.82)];
  const bar =
    heardShare === null
      ? html`<text x="${at((from + to) / 2)}" y="${size.bottom - 3}" text-anchor="middle">–</text>`
      : html`<rect class="band" x="${at(from)}" width="${at(to - from)}" y="${at(y(heardShare))}" height="${at(size.bottom - y(heardShare))}"/>`;
  const range = references
    ? html`<path class="thick" d="M${at(from - 2)} ${at(y(references.high))}H${at(to + 2)}M${at(from - 2)} ${at(y(references.low))}H${at(to + 2)}M${at(to + 2)} ${at(y(references.high))}V${at(y(references.low))}"/>`
    : html``;
  return html`${bar}${range}<text x="${at((from + to) / 2)}" y="${size.height - 6}" text-anchor="middle">${names[i]}</text>`;
})}
<path class="axis" d="M${size.left} ${size.top}V${size.bottom}H${size.right}"/>
</svg>`;
}
