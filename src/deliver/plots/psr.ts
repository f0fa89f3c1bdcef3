import { figure } from '../../judge/wording.ts';
import type { Traces } from '../../measure/measurement.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { linePath } from './line-path.ts';
import { linear, steps } from './scale.ts';
import { timeAxis } from './time-axis.ts';

const height = 150;

/** Peak to short-term loudness (PSR) over time; null when there is none to draw. */
export function psrPlot({ psrDb, stepSeconds }: Traces['dynamics'], seconds: number): Markup | null {
  const values = psrDb.filter((value) => value !== null);
  if (values.length === 0) return null;
  const highest = values.reduce((a, b) => Math.max(a, b));
  const lowest = values.reduce((a, b) => Math.min(a, b));
  const top = Math.min(30, Math.ceil(highest / 3) * 3);
  const y = linear(top, 0, area.top, bottomOf(height));
  const { x, ticks } = timeAxis(seconds);
  const line = linePath(
    psrDb,
    (i) => x(Math.min(seconds, (i + 1) * stepSeconds)),
    (value) => y(Math.min(top, Math.max(0, value))),
    Math.min,
  );
  return frame(
    {
      description: `Peak to loudness over time, from ${figure(lowest)} to ${figure(highest)} dB`,
      height,
      xTitle: 'time, min:s',
      yTitle: 'PSR, dB',
      xTicks: ticks,
      yTicks: steps(0, top, top > 12 ? 6 : 3).map((value) => ({
        position: y(value),
        label: figure(value, 0),
      })),
    },
    [html`<path class="thick" d="${line}"/>`],
  );
}
