import type { SongInPlace } from '../../src/judge/places-report.ts';
import { figureParts } from '../../src/places/place-against.ts';
import { difference, figure } from '../words/figures.ts';
import { bandNames } from './band-names.ts';

/** One figure of a song in a place as a row: in words, how it is written, and what the references do. */
export interface FigureRow {
  readonly name: string;
  readonly label: string;
  readonly unit: string;
  readonly value: string;
  /** '64 to 88'; null without references. */
  readonly references: string | null;
  /** 0 inside, 1 just worth a word; negative below. */
  readonly outside: number;
}

type Written = (value: number) => string;
const percent: Written = (value) => figure(100 * value, 0);
const plain: Written = (value) => figure(value);
const signed: Written = (value) => difference(value);

/** What each figure is called and how it is written. */
const kinds: Record<string, { readonly label: string; readonly unit: string; readonly write: Written }> = {
  heard: { label: 'heard', unit: '% of the time it plays', write: percent },
  balance: { label: 'in the balance', unit: 'phon to the studio', write: signed },
  'loudness-loss': { label: 'Loudness that the place takes', unit: 'phon', write: plain },
  lost: { label: 'Nothing of the song is heard', unit: '% of the time', write: percent },
  'mono-loss': { label: 'Level lost when added to mono', unit: 'dB', write: plain },
  harshness: {
    label: 'Harshness of loud moments, 2.2 to 5.6 kHz',
    unit: 'phon to the studio',
    write: signed,
  },
  pumping: { label: 'Pumping of the device', unit: 'dB a second', write: plain },
  'bass-carried': {
    label: 'Harmonics stand for the bass where it is not heard',
    unit: '% of that time',
    write: percent,
  },
};

/** Every figure of a song in a place, by kind; those that stand out are marked by `outside`. */
export function figureRows({ figures, lead, effect }: SongInPlace): FigureRow[] {
  const rows = figures.map(({ name, value, references, outside }): FigureRow => {
    const { kind, band } = figureParts(name);
    const { label, unit, write } = kinds[kind] ?? { label: kind, unit: '', write: plain };
    return {
      name,
      label: band ? `${bandNames[band].name}, ${label}` : label,
      unit,
      value: write(value),
      references: references && span(references, write),
      outside,
    };
  });
  const order = Object.keys(kinds);
  const bands = Object.keys(bandNames);
  const rank = ({ name }: FigureRow) => {
    const { kind, band } = figureParts(name);
    return 10 * order.indexOf(kind) + bands.indexOf(band ?? '');
  };
  rows.sort((a, b) => rank(a) - rank(b));
  const more = (name: string, label: string, unit: string, value: string): FigureRow => ({
    name,
    label,
    unit,
    value,
    references: null,
    outside: 0,
  });
  if (lead)
    rows.push(
      {
        ...more(
          'lead',
          'Intelligibility of the lead, over all else',
          'index, 0 to 1',
          figure(lead.overAll, 2),
        ),
        references: lead.references && span(lead.references, (value) => figure(value, 2)),
      },
      more(
        'lead-noise',
        'Intelligibility of the lead, over the noise alone',
        'index, 0 to 1',
        figure(lead.overNoise, 2),
      ),
    );
  if (effect) {
    const { protection, harmonicsFollow } = effect;
    if (harmonicsFollow !== null)
      rows.push(more('follow', 'Those harmonics follow the bass', 'correlation', figure(harmonicsFollow, 2)));
    if (protection.deepestDb > 0)
      rows.push(
        more('held', 'The device holds itself back', '% of the time', percent(protection.activeShare)),
        more('deepest', 'and at most by', 'dB', figure(protection.deepestDb)),
      );
    rows.push(
      more('loudness', 'Loudness there, mean', 'sone', figure(effect.meanSone)),
      more('n5', 'Loudness there, exceeded 5 % of the time', 'sone', figure(effect.n5Sone)),
    );
  }
  return rows;
}

function span({ low, high }: { low: number; high: number }, write: Written): string {
  const [from, to] = [write(low), write(high)];
  return from === to ? from : `${from} to ${to}`;
}
