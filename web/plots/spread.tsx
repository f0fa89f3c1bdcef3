import { useMemo } from 'react';
import type uPlot from 'uplot';
import type { SetSpread } from '../../src/server/keeping-api.ts';
import { difference, figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot } from './plot.tsx';

/** How far the axis reaches below the strongest, dB. */
const depthDb = 60;

/**
 * The spread of a reference set in third octaves: the middle half as a wash, lowest and highest as thin lines, the
 * median dashed; over it, when there is one, a version as a thick line.
 */
export function SpreadPlot({
  title,
  spread,
  levelsDb = null,
  name = '',
}: {
  title: string;
  spread: SetSpread;
  /** The version's, one for each of `spread.centresHz`. */
  levelsDb?: readonly (number | null)[] | null;
  name?: string;
}) {
  const drawing = useMemo<Drawing>(() => {
    const { centresHz, bands } = spread;
    const column = (of: keyof (typeof bands)[number]) => bands.map((band) => band[of]);
    const own = levelsDb ? [...levelsDb] : centresHz.map(() => null);
    const loudest = [...column('highest'), ...own].reduce<number>(
      (high, v) => Math.max(high, v ?? -200),
      -200,
    );
    const ceiling = Math.ceil((loudest + 1) / 6) * 6;
    const against = (i: number) => {
      const { median } = bands[i] ?? {};
      const value = own[i];
      return value == null || median == null ? null : value - median;
    };
    const spreadWords = (i: number) =>
      `middle half ${figure(bands[i]?.lowerQuarter)} to ${figure(bands[i]?.upperQuarter)}, all ${figure(bands[i]?.lowest)} to ${figure(bands[i]?.highest)} dB`;
    return {
      data: [
        [...centresHz],
        column('lowest'),
        column('highest'),
        column('lowerQuarter'),
        column('upperQuarter'),
        column('median'),
        own,
      ],
      rest: levelsDb ? `${name} against the set, at equal loudness` : 'the set, at equal loudness',
      read: (i) =>
        levelsDb
          ? `${hertz(centresHz[i] ?? 0)} Hz: ${figure(own[i])} dB, ${difference(against(i))} dB to the median; ${spreadWords(i)}`
          : `${hertz(centresHz[i] ?? 0)} Hz: median ${figure(bands[i]?.median)} dB, ${spreadWords(i)}`,
      table: {
        columns: [
          'Centre Hz',
          ...(levelsDb ? ['This version dB', 'To the median dB'] : []),
          'Lowest dB',
          'Lower quarter dB',
          'Median dB',
          'Upper quarter dB',
          'Highest dB',
        ],
        rows: () =>
          centresHz.map((hz, i) => [
            hertz(hz),
            ...(levelsDb ? [figure(own[i]), difference(against(i))] : []),
            figure(bands[i]?.lowest),
            figure(bands[i]?.lowerQuarter),
            figure(bands[i]?.median),
            figure(bands[i]?.upperQuarter),
            figure(bands[i]?.highest),
          ]),
      },
      options: (ink) => {
        const thin: uPlot.Series = { stroke: ink.soft, width: 1, points: { show: false } };
        const unseen: uPlot.Series = { stroke: 'transparent', width: 0, points: { show: false } };
        return {
          scales: {
            x: { time: false, distr: 3, range: () => [centresHz[0] ?? 20, centresHz.at(-1) ?? 20_000] },
            y: { range: [ceiling - depthDb, ceiling] },
          },
          series: [
            {},
            thin,
            thin,
            unseen,
            unseen,
            { stroke: ink.soft, width: 2, dash: [6, 4], points: { show: false } },
            { stroke: ink.ink, width: 3, points: { show: false } },
          ],
          bands: [{ series: [4, 3], fill: ink.wash }],
          axes: [
            hertzAxis(ink),
            axis(ink, {
              label: 'dB',
              size: yAxisSize,
              incrs: [6, 12],
              values: (_u, splits) => splits.map((v) => figure(v, 0)),
              grid: { show: true, stroke: ink.rule, width: 1 },
            }),
          ],
          cursor: { points: { show: false } },
        };
      },
    };
  }, [spread, levelsDb, name]);
  return (
    <Plot title={title} height={280} drawing={drawing}>
      <p className="plot-key">
        {levelsDb && (
          <span>
            <i className="key-thick" /> this version
          </span>
        )}
        <span>
          <i className="key-median" /> median
        </span>
        <span>
          <i className="key-wash" /> middle half
        </span>
        <span>
          <i className="key-thin" /> lowest, highest
        </span>
      </p>
    </Plot>
  );
}
