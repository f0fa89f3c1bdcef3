import { useMemo } from 'react';
import uPlot from 'uplot';
import type { StereoTrace } from '../../src/measure/stereo-result.ts';
import { clock, difference, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot, type Timeline, type View } from './plot.tsx';

/** Correlation of left and right over time: 1 is mono, 0 has nothing in common, below 0 they cancel in mono. */
export function CorrelationPlot({
  trace,
  view,
  onView,
  timeline,
}: {
  trace: StereoTrace;
  view: View;
  onView: (view: View) => void;
  timeline: Timeline;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { correlation, balanceDb, stepSeconds } = trace;
    const times = correlation.map((_, i) => timeline.toAxis(i * stepSeconds));
    return {
      data: [times, [...correlation]],
      rest: '1: the same left and right; 0: nothing in common; below 0: they cancel in mono',
      read: (i) =>
        `at ${clock(times[i] ?? 0, 1)}, correlation ${figure(correlation[i], 2)}, right over left ${difference(balanceDb[i])} dB`,
      table: {
        columns: ['Time', 'Correlation', 'Right over left dB'],
        rows: () => times.map((t, i) => [clock(t, 1), figure(correlation[i], 2), difference(balanceDb[i])]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [-1, 1] } },
        series: [{}, { stroke: ink.ink, width: 1.5, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'correlation',
            size: yAxisSize,
            splits: () => [-1, 0, 1],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
        hooks: { draw: [(u) => drawLevel(u, 0, '', ink.soft, ink, uPlot.pxRatio, [4, 3])] },
      }),
    };
  }, [trace, timeline]);
  return (
    <Plot
      title="Correlation over time"
      height={130}
      drawing={drawing}
      view={view}
      onView={onView}
      cursorKey="time"
      timeline={timeline}
    />
  );
}
