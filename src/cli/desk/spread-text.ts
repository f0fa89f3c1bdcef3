import type { SetSpread } from '../../compare/reference-set.ts';
import { type SetFigureId, setFigureIds } from '../../compare/reference-set-part.ts';
import type { Spread } from '../../compare/reference-set-spread.ts';
import { noFigure } from '../../judge/figures/figure.ts';
import { figure } from '../../judge/wording.ts';
import { table } from '../terminal/table.ts';

const names: Readonly<Record<SetFigureId, string>> = {
  integratedLufs: 'loudness LUFS',
  tiltDbPerOctave: 'tilt dB an octave',
  plrDb: 'peak over loudness dB',
  rangeLu: 'loudness range LU',
  sideToMidDb: 'side over mid dB',
  lowDb: 'below 120 Hz dB',
  truePeakDbtp: 'true peak dBTP',
};

const shown = (value: number | null): string => (value === null ? noFigure : figure(value));

/** Figures, then bands: the five numbers of each spread, and what stands among them when a value is given. */
export function spreadLines(
  { centresHz, bands, figures }: SetSpread,
  own?: {
    readonly levelsDb: readonly (number | null)[];
    readonly figures: Readonly<Record<SetFigureId, number | null>>;
  },
): string[] {
  const row = (
    name: string,
    { lowest, lowerQuarter, median, upperQuarter, highest }: Spread,
    value?: number | null,
  ) => [
    name,
    ...(own ? [shown(value ?? null)] : []),
    ...[lowest, lowerQuarter, median, upperQuarter, highest].map(shown),
  ];
  const heads = ['figure', ...(own ? ['you'] : []), 'lowest', 'quarter', 'median', 'quarter', 'highest'];
  return table(
    heads.map((head, i) => ({ head, align: i === 0 ? 'left' : 'right' })),
    [
      ...setFigureIds.map((id) => row(names[id], figures[id], own?.figures[id])),
      ...centresHz.map((hz, i) => row(`${hz} Hz`, bands[i], own?.levelsDb[i])),
    ],
  );
}
