import { useMemo } from 'react';
import type { Survival } from '../../src/server/api.ts';
import { figure, hertz } from '../words/figures.ts';
import { axis, hertzAxis, yAxisSize } from './axes.ts';
import { type Drawing, Plot } from './plot.tsx';

type Noise = NonNullable<Survival['report']>['formats'][number]['noise'];

/** Where the lowest band begins on a logarithmic axis, Hz. */
const lowestHz = 20;
const written = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];
/** How far the axis reaches below the strongest band, dB. */
const depthDb = 96;

/** The noise that coding added, band by band, below the sound itself. */
export function NoisePlot({ format, noise }: { format: string; noise: Noise }) {
  const drawing = useMemo<Drawing>(() => {
    const bands = noise.bands.filter(({ highHz }) => highHz > lowestHz);
    const centres = bands.map(({ lowHz, highHz }) => Math.sqrt(Math.max(lowHz, lowestHz) * highHz));
    const noises = bands.map(({ noiseDbfs }) => noiseDbfs);
    const sounds = bands.map(({ noiseDbfs, noiseToSoundDb }) =>
      noiseDbfs === null || noiseToSoundDb === null ? null : noiseDbfs - noiseToSoundDb,
    );
    const loudest = [...noises, ...sounds].reduce<number>((high, v) => Math.max(high, v ?? -200), -200);
    const ceiling = Math.ceil((loudest + 3) / 12) * 12;
    const band = (i: number) => `${hertz(bands[i]?.lowHz ?? 0)}–${hertz(bands[i]?.highHz ?? 0)} Hz`;
    return {
      data: [centres, sounds, noises],
      rest: 'noise that coding added, and the sound, in bands',
      read: (i) =>
        `${band(i)}: noise ${figure(noises[i])} dBFS, ${figure(bands[i]?.noiseToSoundDb)} dB against the sound`,
      table: {
        columns: ['Band', 'Sound dBFS', 'Noise dBFS', 'Noise to sound dB'],
        rows: () =>
          bands.map((each, i) => [
            band(i),
            figure(sounds[i]),
            figure(noises[i]),
            figure(each.noiseToSoundDb),
          ]),
      },
      options: (ink) => ({
        scales: {
          x: { time: false, distr: 3, range: () => [lowestHz, Math.max(20_000, centres.at(-1) ?? 0)] },
          y: { range: [ceiling - depthDb, ceiling] },
        },
        series: [
          {},
          { stroke: ink.soft, width: 1, points: { show: false } },
          { stroke: ink.ink, width: 2.5, points: { show: false } },
        ],
        axes: [
          hertzAxis(ink, written),
          axis(ink, {
            label: 'dBFS',
            size: yAxisSize,
            incrs: [12, 24],
            values: (_u, splits) => splits.map((v) => figure(v, 0)),
            grid: { show: true, stroke: ink.rule, width: 1 },
          }),
        ],
        cursor: { points: { size: 7, fill: ink.paper, stroke: ink.ink, width: 2 } },
      }),
    };
  }, [noise]);
  return (
    <Plot title={`Spectrum of the difference, ${format}`} height={220} drawing={drawing}>
      <p className="plot-key">
        <span>
          <i className="key-thin" /> sound
        </span>
        <span>
          <i className="key-thick" /> noise added
        </span>
      </p>
    </Plot>
  );
}
