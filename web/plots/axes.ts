import type uPlot from 'uplot';
import { clock, hertz } from '../words/figures.ts';
import type { Ink } from './ink.ts';

/** Thin, quiet axes: ticks and labels, rules only where asked. */
export function axis(ink: Ink, options: uPlot.Axis): uPlot.Axis {
  return {
    stroke: ink.soft,
    font: ink.font,
    labelFont: ink.font,
    labelSize: 18,
    labelGap: 0,
    gap: 4,
    ticks: { show: true, stroke: ink.rule, width: 1, size: 5 },
    grid: { show: false },
    ...options,
  };
}

/** Time in the song, with as many decimals as the view needs. */
export function timeAxis(ink: Ink): uPlot.Axis {
  return axis(ink, {
    size: 30,
    space: 64,
    incrs: [
      0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800,
      3600,
    ],
    values: (_u, splits, _axis, _space, step) =>
      splits.map((s) => clock(s, step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3)),
  });
}

/** Octaves, from a third octave's centre to a third octave's centre, Hz. */
const octavesHz = [20, 31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000];

/** Frequency, with every one of `written` at the axis; every other where they would touch. */
export function hertzAxis(ink: Ink, written: readonly number[] = octavesHz): uPlot.Axis {
  return axis(ink, {
    label: 'Hz',
    size: 30,
    splits: () => [...written],
    filter: (_u, splits) => splits,
    values: (u, splits) => splits.map((f, i) => (u.width < 480 && i % 2 ? '' : hertz(f))),
  });
}

/** Width of the y axis, the same in all plots over time, so that they line up. */
export const yAxisSize = 52;
