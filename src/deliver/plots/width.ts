import { bandName } from '../../judge/figures/bands.ts';
import type { FileReport } from '../../judge/file-report.ts';
import { figure } from '../../judge/wording.ts';
import { html, type Markup } from '../markup.ts';
import { area, bottomOf, frame } from './frame.ts';
import { at, linear } from './scale.ts';

const height = 150;
/** From mono to nothing in common and on to opposite; what lies outside is drawn at the edge. */
const range = { low: -30, high: 6 };

/** Width by band: a bar from the floor (mono) up to the level of side over mid; null when no band has a width. */
export function widthPlot(bands: NonNullable<FileReport['stereo']>['bands']): Markup | null {
  if (bands.every(({ sideToMidDb }) => sideToMidDb === null)) return null;
  const base = bottomOf(height);
  const y = linear(range.high, range.low, area.top, base);
  const x = linear(0, bands.length, area.left, area.right);
  return frame(
    {
      description: 'Width by band',
      height,
      xTitle: 'band',
      yTitle: 'side over mid, dB',
      xTicks: bands.map((band, i) => ({ position: x(i + 0.5), label: bandName(band) })),
      yTicks: [-30, -20, -10, 0].map((value) => ({ position: y(value), label: figure(value, 0) })),
    },
    bands.flatMap(({ sideToMidDb }, i) => {
      if (sideToMidDb === null || sideToMidDb <= range.low) return [];
      const top = y(Math.min(range.high, sideToMidDb));
      const left = x(i + 0.2);
      return [
        html`<rect class="band" x="${at(left)}" width="${at(x(i + 0.8) - left)}" y="${at(top)}" height="${at(base - top)}"/>`,
      ];
    }),
  );
}
