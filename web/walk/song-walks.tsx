import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { Song } from '../../src/server/api.ts';
import { useSongs } from '../api/queries.ts';
import { useWalkMaking, useWalks } from '../api/walk-queries.ts';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';

/** References heard in each place; more make it long, fewer tell the place from the song less surely. */
const usualReferences = 2;

/** The walks of a song, and beginning one. */
export function SongWalks({ song }: { song: Song }) {
  const walks = useWalks(song.id);
  const songs = useSongs();
  const { make } = useWalkMaking();
  const [, go] = useLocation();
  const versions = song.versions.filter(({ kind }) => kind !== 'reference');
  const references = (songs.data ?? []).flatMap(({ title, versions: all }) =>
    all
      .filter(({ kind }) => kind === 'reference')
      .map(({ id, name }) => ({ id, name: name === title ? name : `${title}: ${name}` })),
  );
  const [version, setVersion] = useState<string | null>(null);
  const [chosen, setChosen] = useState<readonly (string | null)[]>([null, null]);
  const versionId = version ?? versions.at(-1)?.id;
  if (versionId === undefined) return null;
  const picked = Array.from({ length: usualReferences }, (_, i) => chosen[i] ?? references[i]?.id).filter(
    (id) => id !== undefined,
  );
  const begin = () =>
    make.mutate(
      { versionId, referenceIds: [...new Set(picked)] },
      { onSuccess: ({ id }) => go(`/walks/${id}`), onError: (error) => say(error.message) },
    );
  return (
    <section className="entry" aria-labelledby="walks">
      <div className="margin">
        <p className="note">What the car, the kitchen and the earbuds say, gathered into one correction.</p>
      </div>
      <div className="body">
        <h2 id="walks">Walks</h2>
        {walks.data?.length === 0 && (
          <p className="sentence">
            Take the song to real places with a phone or a laptop: hear two references, then the song, equally
            loud, and tap what is wrong. The notes are solved together.
          </p>
        )}
        {walks.data !== undefined && walks.data.length > 0 && (
          <ul className="plain-list">
            {walks.data.map(({ id, title, versionName, stops, heard }) => (
              <li key={id}>
                <Link href={`/walks/${id}`} className="version-link title-link">
                  {title}
                </Link>{' '}
                <span className="note">
                  {versionName}; {count(stops, 'place')}, {heard} heard
                </span>
              </li>
            ))}
          </ul>
        )}
        {references.length === 0 ? (
          <p className="note">
            A walk needs a reference: a record you know by heart, on the bench and marked as one.
          </p>
        ) : (
          <div className="act-line">
            {versions.length > 1 && (
              <label className="find">
                Version
                <select value={versionId} onChange={(event) => setVersion(event.target.value)}>
                  {versions.map(({ id, name }) => (
                    <option key={id} value={id}>
                      {name}
                    </option>
                  ))}
                </select>
              </label>
            )}
            {picked.map((value, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: the first and the second stay what they are
              <label className="find" key={i}>
                {i === 0 ? 'First reference' : 'Second'}
                <select
                  value={value}
                  onChange={(event) => setChosen(picked.map((id, k) => (k === i ? event.target.value : id)))}
                >
                  {references.map(({ id, name }) => (
                    <option key={id} value={id}>
                      {name}
                    </option>
                  ))}
                </select>
              </label>
            ))}
            <button type="button" className="secondary" disabled={make.isPending} onClick={begin}>
              Begin a walk
            </button>
          </div>
        )}
      </div>
    </section>
  );
}
