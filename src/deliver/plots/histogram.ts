import type { FileReport } from '../../judge/file-report.ts';
import { figure } from '../../judge/wording.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { at, linear, steps } from './scale.ts';

const height = 150;

/** How long the song is how loud: a bar for each LU; null when nothing is loud enough. */
export function loudnessHistogramPlot({
  fromLufs,
  shares,
}: FileReport['dynamics']['loudnessHistogram']): Markup | null {
  if (fromLufs === null || shares.length === 0) return null;
  const most = Math.max(...shares);
  const top = Math.max(5, Math.ceil(most * 20) * 5);
  const base = bottomOf(height);
  const y = linear(top, 0, area.top, base);
  // At least 12 LU wide, so that one steady level does not fill the drawing.
  const spare = Math.max(0, Math.ceil((12 - shares.length) / 2));
  const from = fromLufs - spare;
  const to = fromLufs + shares.length + spare;
  const x = linear(from, to, area.left, area.right);
  return frame(
    {
      description: 'Share of the song at each loudness',
      height,
      xTitle: 'loudness of 400 ms, LUFS',
      yTitle: 'share, %',
      xTicks: steps(from, to, to - from > 24 ? 6 : 3).map((value) => ({
        position: x(value),
        label: figure(value, 0),
      })),
      yTicks: [0, top].map((value) => ({ position: y(value), label: figure(value, 0) })),
    },
    shares.flatMap((share, i) => {
      if (share === 0) return [];
      const left = x(fromLufs + i) + 0.75;
      const right = x(fromLufs + i + 1) - 0.75;
      return [
        html`<rect class="band" x="${at(left)}" width="${at(right - left)}" y="${at(y(100 * share))}" height="${at(base - y(100 * share))}"><title>${figure(fromLufs + i, 0)} LUFS: ${figure(100 * share)} %</title></rect>`,
      ];
    }),
  );
}
