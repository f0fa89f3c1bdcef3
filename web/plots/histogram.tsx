import { useMemo } from 'react';
import type { FileReport } from '../../src/judge/file-report.ts';
import { figure } from '../words/figures.ts';
import { axis, yAxisSize } from './axes.ts';
import { bars } from './bars.ts';
import { type Drawing, Plot } from './plot.tsx';

/** How long the song is how loud: a bar for each LU. */
export function LoudnessHistogram({ histogram }: { histogram: FileReport['dynamics']['loudnessHistogram'] }) {
  const { fromLufs, shares } = histogram;
  const drawing = useMemo<Drawing | null>(() => {
    if (fromLufs === null) return null;
    const loudness = shares.map((_, i) => fromLufs + i);
    const percent = shares.map((share) => 100 * share);
    const most = Math.max(...percent);
    const words = (i: number) => `${figure(loudness[i], 0)} to ${figure((loudness[i] ?? 0) + 1, 0)}`;
    return {
      data: [loudness.map((l) => l + 0.5), percent],
      rest: 'share of the song at each loudness, 400 ms at a time',
      read: (i) => `${words(i)} LUFS, ${figure(percent[i])} % of the song`,
      table: {
        columns: ['Loudness LUFS', 'Share %'],
        rows: () => loudness.map((_, i) => [words(i), figure(percent[i])]),
      },
      options: (ink) => ({
        scales: {
          // At least 12 LU wide, so that one steady level does not fill the drawing.
          x: {
            time: false,
            range: () => {
              const spare = Math.max(0.5, (12 - shares.length) / 2);
              return [fromLufs - spare, fromLufs + shares.length + spare];
            },
          },
          y: { range: [0, Math.max(5, Math.ceil(most / 5) * 5)] },
        },
        series: [
          {},
          { stroke: ink.soft, width: 1, fill: ink.wash, points: { show: false }, paths: bars(0.45) },
        ],
        axes: [
          axis(ink, {
            label: 'LUFS',
            size: 30,
            incrs: [1, 3, 6, 12, 24],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
          }),
          axis(ink, {
            label: '%',
            size: yAxisSize,
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [fromLufs, shares]);
  if (!drawing) return null;
  return (
    <figure className="group-plot">
      <h4>How long how loud</h4>
      <Plot title="How long how loud" height={180} drawing={drawing} />
    </figure>
  );
}
