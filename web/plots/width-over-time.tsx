import { useMemo } from 'react';
import type { StereoTrace } from '../../src/measure/stereo-result.ts';
import { clock, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { drawRows } from './picture.ts';
import { type Drawing, Plot, type Timeline, type View } from './plot.tsx';

/** Side against mid from which on a cell is fully dark, and how far below that is paper, dB. */
const widestDb = 0;
const depthDb = 30;

/** Width of each band over time as a picture: the more ink the wider. */
export function WidthOverTimePlot({
  bandNames,
  trace,
  view,
  onView,
  timeline,
}: {
  /** From the lowest band up. */
  bandNames: readonly string[];
  trace: StereoTrace;
  view: View;
  onView: (view: View) => void;
  timeline: Timeline;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { bandFirstSeconds, bandStepSeconds, bandSideToMidDb } = trace;
    const count = bandSideToMidDb[0]?.length ?? 0;
    const times = Array.from({ length: count }, (_, i) =>
      timeline.toAxis(bandFirstSeconds + i * bandStepSeconds),
    );
    const steps = times.map((_, i) => bandSideToMidDb.map((band) => band[i] ?? null));
    return {
      data: [times, times.map(() => null)],
      rest: 'the more ink the wider: side against mid, from −30 dB (paper) to 0 dB (full ink)',
      read: (i) =>
        `at ${clock(times[i] ?? 0, 1)}, width ${bandNames
          .map((name, band) => `${name} ${figure(steps[i]?.[band], 0)}`)
          .join(', ')} dB`,
      table: {
        columns: ['Time', ...bandNames.map((name) => `${name}, dB`)],
        rows: () => times.map((t, i) => [clock(t, 1), ...(steps[i] ?? []).map((db) => figure(db, 0))]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [0, Math.max(1, bandNames.length)] } },
        series: [{}, { show: true, stroke: ink.ink, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'band',
            size: yAxisSize,
            font: ink.font.replace('12px', '10px'),
            splits: () => bandNames.map((_, band) => band + 0.5),
            values: () => [...bandNames],
          }),
        ],
        cursor: { points: { show: false } },
        hooks: {
          draw: [
            (u) => drawRows(u, ink, times, bandStepSeconds, steps, (db) => 1 - (widestDb - db) / depthDb),
          ],
        },
      }),
    };
  }, [bandNames, trace, timeline]);
  return (
    <Plot
      title="Width by band over time"
      height={150}
      drawing={drawing}
      view={view}
      onView={onView}
      cursorKey="time"
      timeline={timeline}
    />
  );
}
