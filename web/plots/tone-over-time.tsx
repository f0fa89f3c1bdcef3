import { useMemo } from 'react';
import type { Traces } from '../../src/measure/measurement.ts';
import { clock, figure, hertz } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { drawRows } from './picture.ts';
import { type Drawing, Plot, type Timeline, type View } from './plot.tsx';

/** From darkest to paper, dB. */
const depthDb = 42;
/** Bands written at the axis and in the table: octaves. */
const octaves = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16_000];

/** Tone over time as a picture: time to the right, frequency upwards, the more ink the stronger. */
export function ToneOverTimePlot({
  trace,
  view,
  onView,
  timeline,
}: {
  trace: Traces['tone'];
  view: View;
  onView: (view: View) => void;
  timeline?: Timeline;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { centresHz, levelsDb, stepSeconds, firstSeconds } = trace;
    const times = levelsDb.map((_, i) => {
      const at = firstSeconds + i * stepSeconds;
      return timeline ? timeline.toAxis(at) : at;
    });
    const strongest = levelsDb.reduce((high, levels) => Math.max(high, ...levels), -150);
    const written = octaves.filter((hz) => centresHz.includes(hz));
    const level = (i: number, hz: number) => levelsDb[i]?.[centresHz.indexOf(hz)] ?? null;
    const strongestBand = (i: number) => {
      const levels = levelsDb[i] ?? [];
      return centresHz[levels.indexOf(Math.max(...levels))] ?? 0;
    };
    return {
      data: [times, times.map(() => null)],
      rest: 'the more ink the stronger, from 42 dB under the strongest moment up',
      read: (i) =>
        `at ${clock(times[i] ?? 0, 1)}, strongest at ${hertz(strongestBand(i))} Hz; 63 Hz ${figure(level(i, 63), 0)}, 500 Hz ${figure(level(i, 500), 0)}, 4 kHz ${figure(level(i, 4000), 0)} dB`,
      table: {
        columns: ['Time', ...written.map((hz) => `${hertz(hz)} Hz, dB`)],
        rows: () => times.map((t, i) => [clock(t, 1), ...written.map((hz) => figure(level(i, hz), 0))]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [0, Math.max(1, centresHz.length)] } },
        series: [{}, { show: true, stroke: ink.ink, points: { show: false } }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'Hz',
            size: yAxisSize,
            splits: () => written.map((hz) => centresHz.indexOf(hz) + 0.5),
            values: () => written.map(hertz),
          }),
        ],
        cursor: { points: { show: false } },
        hooks: {
          draw: [
            (u) => drawRows(u, ink, times, stepSeconds, levelsDb, (db) => 1 - (strongest - db) / depthDb),
          ],
        },
      }),
    };
  }, [trace, timeline]);
  return (
    <Plot
      title="Tone over time"
      height={260}
      drawing={drawing}
      view={view}
      onView={onView}
      cursorKey="time"
      timeline={timeline}
    />
  );
}
