import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { Song } from '../../src/server/api.ts';
import { useShootoutMaking, useShootouts } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';
import { kindWords, stateWords } from './words.ts';

/** The shoot-outs of a song, and making one. */
export function SongShootouts({ song }: { song: Song }) {
  const shootouts = useShootouts(song.id);
  const { make } = useShootoutMaking();
  const [, go] = useLocation();
  const sounds = song.versions.filter(({ kind }) => kind !== 'reference');
  const mixes = sounds.filter(({ kind }) => kind === 'mix');
  const [chosen, setChosen] = useState<string | null>(null);
  const mixId = chosen ?? (mixes.at(-1) ?? sounds[0])?.id;
  if (mixId === undefined) return null;
  const begin = () =>
    make.mutate(
      { mixVersionId: mixId },
      { onSuccess: ({ id }) => go(`/shootouts/${id}`), onError: (error) => say(error.message) },
    );
  return (
    <section className="entry" aria-labelledby="shootouts">
      <div className="margin">
        <p className="note">When one’s own ears are tired, the only fair witness is a blind vote.</p>
      </div>
      <div className="body">
        <h2 id="shootouts">Shoot-outs</h2>
        {shootouts.data?.length === 0 && (
          <p className="sentence">
            Send one mix to a few people, get masters back, and let listeners who do not know whose is whose
            say which they would keep.
          </p>
        )}
        {shootouts.data !== undefined && shootouts.data.length > 0 && (
          <ul className="plain-list">
            {shootouts.data.map(({ id, title, state, kind, entries, votes }) => (
              <li key={id}>
                <Link href={`/shootouts/${id}`} className="version-link title-link">
                  {title}
                </Link>{' '}
                <span className="note">
                  {kindWords[kind].word}, {count(entries, 'master')}, {count(votes, 'vote')};{' '}
                  {stateWords[state]}
                </span>
              </li>
            ))}
          </ul>
        )}
        <div className="act-line">
          {sounds.length > 1 && (
            <label className="find">
              Mix that goes out
              <select value={mixId} onChange={(event) => setChosen(event.target.value)}>
                {sounds.map(({ id, name, kind }) => (
                  <option key={id} value={id}>
                    {name} ({kind})
                  </option>
                ))}
              </select>
            </label>
          )}
          <button type="button" className="secondary" disabled={make.isPending} onClick={begin}>
            Set up a shoot-out
          </button>
        </div>
      </div>
    </section>
  );
}
