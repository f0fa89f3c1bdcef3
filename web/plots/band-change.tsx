import { useMemo } from 'react';
import uPlot from 'uplot';
import type { BandChange } from '../../src/compare/change-result.ts';
import { difference, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot } from './plot.tsx';

/** The axis reaches at least this far up and down, dB, so that small changes look small. */
const leastReachDb = 6;

/** Change of level in every third octave as a curve about the line of no change. */
export function BandChangePlot({ tone }: { tone: BandChange }) {
  const drawing = useMemo<Drawing>(() => {
    const { centresHz, changeDb } = tone;
    const reach = changeDb.reduce<number>((far, db) => Math.max(far, Math.abs(db ?? 0)), leastReachDb);
    const top = Math.ceil(reach / 3) * 3;
    return {
      data: [[...centresHz], [...changeDb]],
      rest: 'change of every third octave, at equal loudness',
      read: (i) => `${hertz(centresHz[i] ?? 0)} Hz, ${difference(changeDb[i])} dB`,
      table: {
        columns: ['Centre Hz', 'Change dB'],
        rows: () => centresHz.map((hz, i) => [hertz(hz), difference(changeDb[i])]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, distr: 3, range: () => [centresHz[0] ?? 20, centresHz.at(-1) ?? 20_000] },
          y: { range: [-top, top] },
        },
        series: [{}, { stroke: ink.ink, width: 2.5, points: { show: false } }],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [1, 2, 3, 6, 12],
            values: (_u, splits) => splits.map((v) => difference(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
        hooks: { draw: [(u) => drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3])] },
      }),
    };
  }, [tone]);
  return <Plot title="Change of tone" height={260} drawing={drawing} />;
}
