import { useMemo, useRef } from 'react';
import uPlot from 'uplot';
import type { FileReport } from '../../src/judge/file-report.ts';
import type { Span, Traces } from '../../src/measure/measurement.ts';
import { clock, count, figure } from '../words/figures.ts';
import { axis, timeAxis, yAxisSize } from './axes.ts';
import { drawClipped, drawLevel, drawOvers, drawPlaces } from './marks.ts';
import { type Drawing, Plot, type Timeline, type View } from './plot.tsx';

/** Places picked out by whoever reads a finding. */
export interface Places {
  readonly spans: readonly Span[];
  readonly current: Span | null;
}

const decibels = (amplitude: number) => (amplitude > 0 ? 20 * Math.log10(amplitude) : null);
/** Amplitudes whose level is written at the axis: 0, −6 and −∞ dBFS (halving is 6.02 dB). */
const axisAmplitudes = [-1, -0.5, 0, 0.5, 1];
const axisWords = ['0', '−6', '−∞', '−6', '0'];

/** How many there are, and how many of them could be marked when that is not all. */
const marked = (all: number, drawn: number, word: string, which: string) =>
  count(all, word) + (drawn < all ? ` (the ${which} ${drawn} marked)` : '');

export function Waveform({
  waveform,
  peak,
  places,
  view,
  onView,
  timeline,
  children,
}: {
  waveform: Traces['waveform'];
  /** Whose overs and clipped runs are marked. */
  peak: FileReport['peak'];
  places: Places;
  view: View;
  onView: (view: View) => void;
  timeline?: Timeline;
  children?: React.ReactNode;
}) {
  // The plot asks for the places whenever it redraws; a new choice must not build it anew.
  const shown = useRef(places);
  shown.current = places;
  const drawing = useMemo<Drawing>(() => {
    const { min, max, stepSeconds } = waveform;
    const onAxis = (span: Span): Span =>
      timeline
        ? { startSeconds: timeline.toAxis(span.startSeconds), endSeconds: timeline.toAxis(span.endSeconds) }
        : span;
    const overs = peak.overs.map(onAxis);
    const clippedRuns = peak.clippedRuns.map(onAxis);
    const times = max.map((_, i) => (timeline ? timeline.toAxis(i * stepSeconds) : i * stepSeconds));
    const top = Math.max(1, ...max.map(Math.abs), ...min.map(Math.abs)) * 1.12;
    const level = (i: number) => decibels(Math.max(Math.abs(min[i] ?? 0), Math.abs(max[i] ?? 0)));
    const within = (spans: readonly Span[], i: number) => {
      const from = times[i] ?? 0;
      return spans.filter((s) => s.startSeconds < from + stepSeconds && s.endSeconds >= from).length;
    };
    return {
      data: [times, [...max], [...min]],
      rest: [
        clock(max.length * stepSeconds, 1),
        marked(peak.overCount, overs.length, 'over', 'highest'),
        marked(peak.clippedRunCount, clippedRuns.length, 'clipped run', 'longest'),
      ].join(', '),
      read: (i) => {
        const marks = [
          within(overs, i) ? count(within(overs, i), 'over') : '',
          within(clippedRuns, i) ? count(within(clippedRuns, i), 'clipped run') : '',
        ].filter((text) => text !== '');
        return [`at ${clock(times[i] ?? 0, 2)}`, `sample peak ${figure(level(i))} dBFS`, ...marks].join(', ');
      },
      table: {
        columns: ['Time', 'Lowest sample', 'Highest sample', 'Peak dBFS'],
        rows: () =>
          times.map((t, i) => [clock(t, 2), figure(min[i], 3), figure(max[i], 3), figure(level(i))]),
      },
      options: (ink) => ({
        scales: { x: { time: false }, y: { range: [-top, top] } },
        series: [
          {},
          { stroke: ink.ink, width: 1, points: { show: false } },
          { stroke: ink.ink, width: 1, points: { show: false } },
        ],
        bands: [{ series: [1, 2], fill: ink.ink }],
        axes: [
          timeAxis(ink),
          axis(ink, {
            label: 'dBFS',
            size: yAxisSize,
            splits: () => axisAmplitudes,
            values: () => axisWords,
          }),
        ],
        cursor: { points: { show: false } },
        hooks: {
          draw: [
            (u) => {
              const scale = uPlot.pxRatio;
              for (const full of [1, -1]) drawLevel(u, full, '', ink.soft, ink, scale, [2, 3]);
              drawPlaces(u, shown.current.spans, shown.current.current, ink, scale);
              drawOvers(u, overs, ink, scale);
              drawClipped(u, clippedRuns, ink, scale);
            },
          ],
        },
      }),
    };
  }, [waveform, peak, timeline]);
  return (
    <Plot
      title="Waveform"
      height={190}
      drawing={drawing}
      overlay={places}
      view={view}
      onView={onView}
      cursorKey="time"
      timeline={timeline}
    >
      {children}
    </Plot>
  );
}
