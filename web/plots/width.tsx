import { useMemo } from 'react';
import { bandName } from '../../src/judge/figures/bands.ts';
import type { FileReport } from '../../src/judge/file-report.ts';
import { figure } from '../words/figures.ts';
import { axis, yAxisSize } from './axes.ts';
import { bars } from './bars.ts';
import { type Drawing, Plot } from './plot.tsx';

/** Where mono is drawn, and where bands that work against each other end, dB of side over mid. */
const range: [number, number] = [-30, 6];

/** Width by band: a bar from the floor (mono) up to the level of side over mid. */
export function WidthPlot({ bands }: { bands: NonNullable<FileReport['stereo']>['bands'] }) {
  const drawing = useMemo<Drawing>(() => {
    const widths = bands.map(({ sideToMidDb }) => sideToMidDb);
    return {
      data: [bands.map((_, i) => i), widths],
      rest: 'what differs between the sides over what they share; at the floor the band is mono',
      read: (i) => {
        const band = bands[i];
        return band
          ? `${bandName(band)}: width ${figure(band.sideToMidDb)} dB, correlation ${figure(band.correlation, 2)}`
          : '';
      },
      table: {
        columns: ['Band', 'Width dB', 'Correlation'],
        rows: () =>
          bands.map((band) => [bandName(band), figure(band.sideToMidDb), figure(band.correlation, 2)]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, range: () => [-0.6, bands.length - 0.4] },
          y: { range },
        },
        series: [
          {},
          { stroke: ink.soft, width: 1, fill: ink.wash, points: { show: false }, paths: bars(0.35) },
        ],
        axes: [
          axis(ink, {
            size: 24,
            splits: () => bands.map((_, i) => i),
            values: (u, splits) =>
              splits.map((i) => {
                const band = bands[i];
                if (!band) return '';
                return u.width < 680 ? (bandName(band).split(',')[0] ?? '') : bandName(band);
              }),
          }),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [10],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [bands]);
  return (
    <figure className="group-plot">
      <h4>Width by band</h4>
      <Plot title="Width by band" height={180} drawing={drawing} />
    </figure>
  );
}
