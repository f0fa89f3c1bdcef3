import { useMemo } from 'react';
import type { Traces } from '../../src/measure/measurement.ts';
import { clock, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot, type View } from './plot.tsx';

/** Peak to short-term loudness over time. */
export function PsrPlot({
  trace,
  view,
  onView,
}: {
  trace: Traces['dynamics'];
  view: View;
  onView: (view: View) => void;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { psrDb, stepSeconds } = trace;
    const times = psrDb.map((_, i) => i * stepSeconds);
    const highest = psrDb.reduce<number>((high, v) => Math.max(high, v ?? 0), 12);
    return {
      data: [times, [...psrDb]],
      rest: 'peak of the last three seconds over their loudness; lower is flatter',
      read: (i) => `at ${clock(times[i] ?? 0, 1)}, PSR ${figure(psrDb[i])} dB`,
      table: {
        columns: ['Time', 'PSR dB'],
        rows: () => times.map((t, i) => [clock(t, 1), figure(psrDb[i])]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [0, Math.min(30, Math.ceil(highest / 3) * 3)] } },
        series: [{}, { stroke: ink.ink, width: 2, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [3, 6],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [trace]);
  return (
    <figure className="group-plot">
      <h4>Peak to loudness over time (PSR)</h4>
      <Plot
        title="Peak to loudness over time"
        height={180}
        drawing={drawing}
        view={view}
        onView={onView}
        cursorKey="time"
      />
    </figure>
  );
}
