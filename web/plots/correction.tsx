import { useMemo } from 'react';
import uPlot from 'uplot';
import type { Correction } from '../../src/server/walk-api.ts';
import { difference, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot } from './plot.tsx';

/** The axis reaches at least this far up and down, dB, so that small changes look small. */
const leastReachDb = 6;

/** A curve that was solved, dashed, and what bands make of it, in full ink. */
export function CorrectionPlot({ curve }: { curve: Correction['curve'] }) {
  const drawing = useMemo<Drawing>(() => {
    const reach = curve.reduce(
      (far, { wantedDb, bandsDb }) => Math.max(far, Math.abs(wantedDb), Math.abs(bandsDb)),
      leastReachDb,
    );
    const top = Math.ceil(reach / 3) * 3;
    const column = (of: 'hertz' | 'wantedDb' | 'bandsDb') => curve.map((point) => point[of]);
    return {
      data: [column('hertz'), column('bandsDb'), column('wantedDb')],
      rest: 'full: what the bands do; dashed: what was solved from the notes',
      read: (i) => {
        const at = curve[i];
        return at
          ? `${hertz(at.hertz)} Hz: bands ${difference(at.bandsDb)} dB, solved ${difference(at.wantedDb)} dB`
          : '';
      },
      table: {
        columns: ['Centre Hz', 'Bands dB', 'Solved dB'],
        rows: () =>
          curve.map(({ hertz: hz, bandsDb, wantedDb }) => [
            hertz(hz),
            difference(bandsDb),
            difference(wantedDb),
          ]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, distr: 3, range: () => [curve[0]?.hertz ?? 20, curve.at(-1)?.hertz ?? 20_000] },
          y: { range: [-top, top] },
        },
        series: [
          {},
          { stroke: ink.ink, width: 2.5, points: { show: false } },
          { stroke: ink.accent, width: 1.5, dash: [5, 4], points: { show: false } },
        ],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [1, 2, 3, 6],
            values: (_u, splits) => splits.map((v) => difference(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
        hooks: { draw: [(u) => drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3])] },
      }),
    };
  }, [curve]);
  return <Plot title="The correction" height={260} drawing={drawing} />;
}
