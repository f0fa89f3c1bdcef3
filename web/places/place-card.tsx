import { useMemo } from 'react';
import type { SongInPlace } from '../../src/judge/places-report.ts';
import { SeverityMark } from '../parts/severity.tsx';
import { type HeardBar, HeardBars } from '../plots/heard-bars.tsx';
import { count, figure } from '../words/figures.ts';

/** Sentences on a card; the rest is read when it is opened. */
const atFirst = 2;

/** A song in one place at a glance: what is heard of each band, and what stands out. */
export function PlaceCard({
  inPlace,
  against,
  open,
  onOpen,
}: {
  inPlace: SongInPlace;
  /** Whether there are references. */
  against: boolean;
  open: boolean;
  onOpen: () => void;
}) {
  const { place, effect, sentences } = inPlace;
  const bars = useMemo(() => heardBars(inPlace), [inPlace]);
  const more = sentences.length - atFirst;
  const calm = against ? 'fares as your references do' : 'comes through';
  return (
    <article className={open ? 'place-card open' : 'place-card'} data-place={place.id}>
      <h3>
        <button type="button" className="place-name" aria-expanded={open} onClick={onOpen}>
          {place.name}
        </button>
      </h3>
      <p className="note num">
        {effect ? `${figure(effect.levelDba, 0)} dB(A)` : ''}
        {place.noise ? `, noise ${figure(place.noise.levelDba, 0)} dB(A)` : ', no noise'}
      </p>
      {effect && (
        <>
          <HeardBars bars={bars} label={place.name} />
          <p className="stands">
            <SeverityMark severity={sentences.length === 0 ? 'fine' : 'look'} />{' '}
            {sentences.length === 0
              ? calm
              : `${count(sentences.length, 'thing')} ${sentences.length === 1 ? 'stands' : 'stand'} out`}
          </p>
          <ul>
            {sentences.slice(0, atFirst).map(({ text }) => (
              <li key={text} className="sentence">
                {text}
              </li>
            ))}
          </ul>
          {more > 0 && !open && <p className="note">and {count(more, 'more', 'more')}, when opened</p>}
        </>
      )}
    </article>
  );
}

/** What the bars of a place show: each band with what the references do. */
export function heardBars({ effect, figures }: SongInPlace): HeardBar[] {
  return (effect?.bands ?? []).map((band) => {
    const own = figures.find(({ name }) => name === `heard-${band.band}`);
    return {
      effect: band,
      references: own?.references ?? null,
      outside: own !== undefined && Math.abs(own.outside) >= 1,
    };
  });
}
