import type { Traces } from '../../measure/measurement.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { at, linear } from './scale.ts';
import { timeAxis } from './time-axis.ts';

const height = 210;
/** Columns drawn, so that the picture stays small. */
const mostColumns = 240;
/** Shades below the strongest moment, and how far each reaches, dB. */
const shades = 7;
const shadeDb = 6;
const labelled = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16_000];

/** Tone over time: time to the right, frequency upwards, the darker the stronger; null when there is nothing to draw. */
export function toneOverTimePlot(
  { centresHz, levelsDb, stepSeconds, firstSeconds }: Traces['tone'],
  seconds: number,
): Markup | null {
  const strongest = levelsDb.reduce((high, levels) => Math.max(high, ...levels), -150);
  if (strongest <= -140) return null;
  const base = bottomOf(height);
  const band = linear(0, centresHz.length, base, area.top);
  const { x, ticks } = timeAxis(seconds);
  const group = Math.max(1, Math.ceil(levelsDb.length / mostColumns));
  const edge = (step: number) => x(Math.min(seconds, Math.max(0, firstSeconds + (step - 0.5) * stepSeconds)));
  // A path for each shade, runs of equal shade joined, so that a song is some dozens of kilobytes and not megabytes.
  const paths = Array.from({ length: shades }, () => '');
  const shadeOf = (column: number, b: number) => {
    const levels = levelsDb.slice(column * group, (column + 1) * group).map((step) => step[b]);
    return shades - 1 - Math.floor((strongest - Math.max(...levels)) / shadeDb);
  };
  const columns = Math.ceil(levelsDb.length / group);
  centresHz.forEach((_, b) => {
    const top = at(band(b + 1));
    const tall = at(band(b) - band(b + 1));
    let start = 0;
    for (let column = 1; column <= columns; column++) {
      const shade = shadeOf(start, b);
      if (column < columns && shadeOf(column, b) === shade) continue;
      if (shade >= 0) {
        const left = edge(start * group);
        paths[shade] += `M${at(left)} ${top}h${at(edge(column * group) - left)}v${tall}H${at(left)}z`;
      }
      start = column;
    }
  });
  return frame(
    {
      description: 'Tone over time: time to the right, frequency upwards, the darker the stronger',
      height,
      xTitle: 'time, min:s',
      yTitle: 'frequency, Hz',
      xTicks: ticks,
      yTicks: labelled.flatMap((hz) => {
        const b = centresHz.indexOf(hz);
        const label = hz < 1000 ? String(hz) : `${hz / 1000}k`;
        return b < 0 ? [] : [{ position: band(b + 0.5), label }];
      }),
    },
    paths.map(
      (path, shade) =>
        html`<path class="shade" fill-opacity="${((shade + 1) / shades).toFixed(2)}" d="${path}"/>`,
    ),
  );
}
