import { useState } from 'react';
import { Link } from 'wouter';
import type { DeskSong } from '../../src/server/desk-api.ts';
import { useChainActs } from '../api/chain-queries.ts';
import { ChainFile } from './chain-file.tsx';

/** A song without a chain: for which version to begin one. */
export function Begin({ song, onMade }: { song: DeskSong; onMade: (chainId: string) => void }) {
  const acts = useChainActs(song.songId);
  const mix = song.sources.findLast(({ kind }) => kind === 'mix') ?? song.sources.at(-1);
  const [versionId, setVersionId] = useState(mix?.versionId ?? '');
  const make = (chain?: unknown) =>
    acts.make.mutate(
      { versionId, ...(chain === undefined ? {} : { chain }) },
      { onSuccess: ({ id }) => onMade(id) },
    );
  return (
    <div className="sheet finish">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/">Bench</Link> / <Link href={`/songs/${song.songId}`}>{song.title}</Link>
          </nav>
        </div>
        <div className="body">
          <h1 className="headline">Finish {song.title}</h1>
          <p className="sentence">
            A chain is a short list of things done to a version, one after the other: filters, dynamics, a
            limiter at the end. It is heard while you work on it, every step can be taken back, and the
            version itself stays as it is.
          </p>
          <p className="act-line">
            <label className="find">
              For
              <select value={versionId} onChange={(event) => setVersionId(event.target.value)}>
                {song.sources.map((source) => (
                  <option key={source.versionId} value={source.versionId}>
                    {source.name} ({source.kind})
                  </option>
                ))}
              </select>
            </label>
            <button
              type="button"
              className="primary"
              disabled={versionId === '' || acts.make.isPending}
              onClick={() => make()}
            >
              Begin a chain
            </button>
            <ChainFile onChain={make} />
          </p>
          <p className="note">
            It begins with nothing. A proposal from your references, a walk or a shoot-out can be taken over
            there, piece by piece.
          </p>
          {acts.make.error && (
            <p className="sentence" role="alert">
              {acts.make.error.message}
            </p>
          )}
        </div>
      </div>
    </div>
  );
}
