import { figure } from '../../judge/wording.ts';
import type { Over, Traces } from '../../measure/measurement.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { at, linear } from './scale.ts';
import { timeAxis } from './time-axis.ts';

const height = 170;

/** Lowest and highest sample over time, full scale marked, and a mark above each over. */
export function waveformPlot(trace: Traces['waveform'], overs: readonly Over[], seconds: number): Markup {
  const reach = Math.max(1, ...trace.max, ...trace.min.map((value) => -value)) * 1.08;
  const y = linear(reach, -reach, area.top, bottomOf(height));
  const { x, ticks } = timeAxis(seconds);
  const time = (i: number) => at(x(Math.min(seconds, (i + 0.5) * trace.stepSeconds)));
  const upper = trace.max.map((value, i) => `${time(i)} ${at(y(value))}`);
  const lower = trace.min.map((value, i) => `${time(i)} ${at(y(value))}`).reverse();
  return frame(
    {
      description: `Waveform over time${overs.length > 0 ? `, with ${overs.length} marked places above full scale` : ''}`,
      height,
      xTitle: 'time, min:s',
      yTitle: 'level, full scale = 1',
      xTicks: ticks,
      yTicks: [1, 0.5, 0, -0.5, -1].map((value) => ({ position: y(value), label: figure(value) })),
    },
    [
      ...(upper.length > 0 ? [html`<path class="wave" d="M${[...upper, ...lower].join('L')}Z"/>`] : []),
      html`<path class="limit" d="M${area.left} ${at(y(1))}H${area.right}M${area.left} ${at(y(-1))}H${area.right}"/>`,
      ...overMarks(overs, x),
    ],
  );
}

/** A small triangle on the top edge for each over; those that would cover each other are drawn once. */
function overMarks(overs: readonly Over[], x: (seconds: number) => number): Markup[] {
  const places = [...new Set(overs.map((over) => Math.round(x(over.startSeconds))))];
  return places.map((place) => html`<path class="over" d="M${place - 3.5} 1h7l-3.5 7z"/>`);
}
