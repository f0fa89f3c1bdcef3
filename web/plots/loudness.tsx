import { useMemo } from 'react';
import uPlot from 'uplot';
import type { Traces } from '../../src/measure/measurement.ts';
import { clock, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { drawLevel } from './marks.ts';
import { type Drawing, Plot, type Timeline, type View } from './plot.tsx';

/** The least level the axis reaches down to below the loudest moment, LU; what is quieter lies on the floor. */
const depthLu = 36;

export function LoudnessPlot({
  loudness,
  integratedLufs,
  view,
  onView,
  timeline,
}: {
  loudness: Traces['loudness'];
  integratedLufs: number | null;
  view: View;
  onView: (view: View) => void;
  timeline?: Timeline;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { momentaryLufs, shortTermLufs, stepSeconds } = loudness;
    const times = momentaryLufs.map((_, i) =>
      timeline ? timeline.toAxis(i * stepSeconds) : i * stepSeconds,
    );
    const heard = momentaryLufs.filter((v) => v !== null);
    const loudest = heard.reduce((high, v) => Math.max(high, v), -70);
    const quietest = heard.reduce((low, v) => Math.min(low, v), loudest);
    const ceiling = Math.ceil((loudest + 2) / 6) * 6;
    const floor = Math.max(ceiling - depthLu, Math.floor(quietest / 6) * 6);
    return {
      data: [times, [...momentaryLufs], [...shortTermLufs]],
      rest:
        integratedLufs === null
          ? 'no integrated loudness: too short or too quiet'
          : `integrated ${figure(integratedLufs)} LUFS`,
      read: (i) =>
        `at ${clock(times[i] ?? 0, 1)}, momentary ${figure(momentaryLufs[i])}, short-term ${figure(shortTermLufs[i])} LUFS`,
      table: {
        columns: ['Time', 'Momentary LUFS', 'Short-term LUFS'],
        rows: () => times.map((t, i) => [clock(t, 1), figure(momentaryLufs[i]), figure(shortTermLufs[i])]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [Math.min(floor, ceiling - 12), ceiling] } },
        series: [
          {},
          { stroke: ink.soft, width: 1, points: { show: false } },
          { stroke: ink.ink, width: 2.5, points: { show: false } },
        ],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'LUFS',
            size: yAxisSize,
            incrs: [3, 6, 12],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
        hooks: {
          draw: [
            (u) => {
              if (integratedLufs !== null)
                drawLevel(
                  u,
                  integratedLufs,
                  `integrated ${figure(integratedLufs)}`,
                  ink.accent,
                  ink,
                  uPlot.pxRatio,
                  [6, 4],
                );
            },
          ],
        },
      }),
    };
  }, [loudness, integratedLufs, timeline]);
  return (
    <Plot
      title="Loudness over time"
      height={240}
      drawing={drawing}
      view={view}
      onView={onView}
      cursorKey="time"
      timeline={timeline}
    >
      <p className="plot-key">
        <span>
          <i className="key-thin" /> momentary
        </span>
        <span>
          <i className="key-thick" /> short-term
        </span>
        <span>
          <i className="key-dashed" /> integrated
        </span>
      </p>
    </Plot>
  );
}
