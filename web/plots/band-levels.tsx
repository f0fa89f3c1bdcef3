import { useMemo } from 'react';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot } from './plot.tsx';

/** One level for every third octave as dots joined by a line; gaps where there is none. */
export function BandLevelsPlot({
  title,
  what,
  centresHz,
  levelsDb,
}: {
  title: string;
  what: string;
  centresHz: readonly number[];
  levelsDb: readonly (number | null)[];
}) {
  const drawing = useMemo<Drawing>(() => {
    const known = levelsDb.filter((db) => db !== null);
    const top = Math.ceil((Math.max(...known) + 3) / 10) * 10;
    const foot = Math.min(top - 30, Math.floor((Math.min(...known) - 3) / 10) * 10);
    return {
      data: [[...centresHz], [...levelsDb]],
      rest: what,
      read: (i) => `${hertz(centresHz[i] ?? 0)} Hz, ${figure(levelsDb[i])} dB`,
      table: {
        columns: ['Centre Hz', 'dB'],
        rows: () => centresHz.map((hz, i) => [hertz(hz), figure(levelsDb[i])]),
      },
      options: (ink) => ({
        scales: { x: { time: false, distr: 3, range: () => [18, 22_000] }, y: { range: [foot, top] } },
        series: [{}, { stroke: ink.ink, width: 2, points: { show: true, size: 5, fill: ink.ink } }],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB',
            size: yAxisSize,
            incrs: [10, 20],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [centresHz, levelsDb, what]);
  return (
    <figure className="group-plot">
      <h4>{title}</h4>
      <Plot title={title} height={200} drawing={drawing} />
    </figure>
  );
}
