import { figure } from '../../judge/wording.ts';
import type { Traces } from '../../measure/measurement.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { linePath } from './line-path.ts';
import { at, linear, steps } from './scale.ts';
import { timeAxis } from './time-axis.ts';

const height = 190;
/** Nothing further below the loudest moment is drawn, LU. */
const deepest = 36;

/** Momentary (thin) and short-term (thick) loudness over time, and the loudness of the whole song as a dashed line. */
export function loudnessPlot(
  trace: Traces['loudness'],
  integratedLufs: number | null,
  seconds: number,
): Markup | null {
  const values = trace.momentaryLufs.filter((value) => value !== null);
  if (values.length === 0) return null;
  const highest = values.reduce((a, b) => Math.max(a, b));
  const lowest = values.reduce((a, b) => Math.min(a, b));
  const top = Math.ceil(highest / 3) * 3;
  const bottom = Math.max(top - deepest, Math.min(top - 12, Math.floor(lowest / 3) * 3));
  const y = linear(top, bottom, area.top, bottomOf(height));
  const { x, ticks } = timeAxis(seconds);
  const line = (series: readonly (number | null)[]) =>
    linePath(
      series,
      (i) => x(Math.min(seconds, (i + 1) * trace.stepSeconds)),
      (value) => y(Math.max(bottom, value)),
    );
  return frame(
    {
      description: `Loudness over time, from ${figure(lowest)} to ${figure(highest)} LUFS`,
      height,
      xTitle: 'time, min:s',
      yTitle: 'loudness, LUFS',
      xTicks: ticks,
      yTicks: steps(bottom, top, top - bottom > 18 ? 6 : 3).map((value) => ({
        position: y(value),
        label: figure(value, 0),
      })),
    },
    [
      html`<path class="thin" d="${line(trace.momentaryLufs)}"/>`,
      html`<path class="thick" d="${line(trace.shortTermLufs)}"/>`,
      ...(integratedLufs === null || integratedLufs < bottom
        ? []
        : [html`<path class="whole" d="M${area.left} ${at(y(integratedLufs))}H${area.right}"/>`]),
    ],
  );
}
