import { useMemo } from 'react';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot } from './plot.tsx';

/** How far below the strongest the axis reaches, dB. */
const depthDb = 72;

/** The song at the listener's ears in third octaves, beside the studio at the same level and the noise of the place. */
export function PlaceLevelsPlot({
  title,
  centresHz,
  levelsDb,
  studioDb,
  noiseDb,
}: {
  title: string;
  centresHz: readonly number[];
  levelsDb: readonly number[];
  studioDb: readonly number[] | null;
  noiseDb: readonly number[] | null;
}) {
  const drawing = useMemo<Drawing>(() => {
    const none = centresHz.map(() => null);
    const loudest = [levelsDb, studioDb ?? [], noiseDb ?? []].flat().reduce((a, b) => Math.max(a, b), 0);
    const ceiling = Math.ceil((loudest + 3) / 10) * 10;
    const columns: readonly (readonly [string, readonly number[] | null])[] = [
      ['the song here', levelsDb],
      ['in the studio', studioDb],
      ['noise', noiseDb],
    ];
    const present = columns.filter(([, values]) => values !== null);
    return {
      data: [[...centresHz], [...(noiseDb ?? none)], [...(studioDb ?? none)], [...levelsDb]],
      rest: 'mean level of every third octave at the ear',
      read: (i) =>
        `${hertz(centresHz[i] ?? 0)} Hz: ${present
          .map(([name, values]) => `${name} ${figure(values?.[i], 0)}`)
          .join(', ')} dB SPL`,
      table: {
        columns: ['Centre Hz', ...present.map(([name]) => `${name}, dB SPL`)],
        rows: () =>
          centresHz.map((hz, i) => [hertz(hz), ...present.map(([, values]) => figure(values?.[i], 1))]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, distr: 3, range: () => [centresHz[0] ?? 20, centresHz.at(-1) ?? 20_000] },
          y: { range: [ceiling - depthDb, ceiling] },
        },
        series: [
          {},
          { stroke: ink.soft, width: 1, fill: ink.wash, points: { show: false } },
          { stroke: ink.soft, width: 2, dash: [6, 4], points: { show: false } },
          { stroke: ink.ink, width: 3, points: { show: false } },
        ],
        axes: [
          hertzAxis(ink),
          axis(ink, {
            label: 'dB SPL',
            size: yAxisSize,
            incrs: [10, 20],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { show: false } },
      }),
    };
  }, [centresHz, levelsDb, studioDb, noiseDb]);
  return (
    <Plot title={title} height={240} drawing={drawing}>
      <p className="plot-key">
        <span>
          <i className="key-thick" /> the song here
        </span>
        {studioDb && (
          <span>
            <i className="key-median" /> in the studio
          </span>
        )}
        {noiseDb && (
          <span>
            <i className="key-wash" /> noise of the place
          </span>
        )}
      </p>
    </Plot>
  );
}
