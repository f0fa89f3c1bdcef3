import { useMemo } from 'react';
import type uPlot from 'uplot';
import type { FileReport } from '../../src/judge/file-report.ts';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot } from './plot.tsx';

/** How far the axis reaches below the strongest band, dB; weaker bands lie on the floor and are read off all the same. */
const depthDb = 60;

export function SpectrumPlot({ tone }: { tone: FileReport['tone'] }) {
  const drawing = useMemo<Drawing>(() => {
    const { centresHz, levelsDb } = tone;
    const loudest = levelsDb.reduce<number>((high, v) => Math.max(high, v ?? -200), -200);
    const ceiling = Math.ceil((loudest + 1) / 6) * 6;
    const edge = 2 ** (1 / 6);
    // Bands are drawn as steps between their edges: a third octave has one level, not a slope.
    return {
      data: [[...centresHz], [...levelsDb]],
      rest: 'third-octave bands, each relative to the whole',
      read: (i) => `${hertz(centresHz[i] ?? 0)} Hz, ${figure(levelsDb[i])} dB`,
      table: {
        columns: ['Centre Hz', 'Level dB'],
        rows: () => centresHz.map((c, i) => [hertz(c), figure(levelsDb[i])]),
      },
      options: (ink) => ({
        scales: {
          x: {
            time: false,
            distr: 3,
            range: () => [(centresHz[0] ?? 20) / edge, (centresHz.at(-1) ?? 20_000) * edge],
          },
          y: { range: [ceiling - depthDb, ceiling] },
        },
        series: [
          {},
          {
            stroke: ink.ink,
            width: 1.5,
            fill: ink.wash,
            points: { show: false },
            paths: (u, seriesIdx) => bandSteps(u, seriesIdx, edge),
          },
        ],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [6, 12, 24],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [tone]);
  return <Plot title="Spectrum in third octaves" height={240} drawing={drawing} />;
}

/** The path through the bands: level over each band's width, upright between neighbours, gaps where a band is empty. */
function bandSteps(u: uPlot, seriesIdx: number, edge: number): uPlot.Series.Paths {
  const stroke = new Path2D();
  const fill = new Path2D();
  const floor = u.bbox.top + u.bbox.height;
  let right: number | null = null;
  u.data[0].forEach((centre, i) => {
    const level = u.data[seriesIdx]?.[i];
    const left = u.valToPos(centre / edge, 'x', true);
    if (level === null || level === undefined) {
      if (right !== null) fill.lineTo(right, floor);
      right = null;
      return;
    }
    const y = Math.min(floor, u.valToPos(level, 'y', true));
    if (right === null) {
      fill.moveTo(left, floor);
      stroke.moveTo(left, y);
    } else stroke.lineTo(left, y);
    fill.lineTo(left, y);
    right = u.valToPos(centre * edge, 'x', true);
    stroke.lineTo(right, y);
    fill.lineTo(right, y);
  });
  if (right !== null) fill.lineTo(right, floor);
  return { stroke, fill, flags: 0 };
}
