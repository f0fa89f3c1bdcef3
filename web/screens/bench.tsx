import { useState } from 'react';
import { Link } from 'wouter';
import type { Song } from '../../src/server/api.ts';
import { type Changes, useChanges, useHealth, useSongs } from '../api/queries.ts';
import { CheckAll } from '../parts/check-all.tsx';
import { EditableText } from '../parts/editable-text.tsx';
import { Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { VerdictLine } from '../parts/verdict-line.tsx';
import { DropPlace } from '../uploads/drop-place.tsx';
import { UploadList } from '../uploads/upload-list.tsx';
import { clock, count, figure, inUnit } from '../words/figures.ts';

/** Songs shown at first, and added with each press; a bench may hold thousands. */
const songsAtOnce = 40;
/** Versions shown of one song; the song's own screen has them all. */
const versionsAtOnce = 8;
/** From this many songs on, a field to find one is worth its place. */
const worthFinding = 9;

/** The first screen: bring files in, and see every song with its verdicts in short. */
export function BenchScreen() {
  const songs = useSongs();
  const health = useHealth();
  const changes = useChanges();
  useTitle('');

  if (songs.isError && !songs.data)
    return <Unanswered error={songs.error} retry={() => void songs.refetch()} />;
  const offerDemo = health.data?.demoAvailable && !songs.data?.some((song) => song.demo);
  return (
    <div className="sheet bench">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            Everything is measured on this machine, with the source of each limit beside it. No sound leaves
            it.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">
            Drop a finished song here and read what to mend before anyone else hears it.
          </h1>
        </div>
      </div>
      <div className="entry">
        <div className="margin stays">
          <DropPlace
            label="Drop sound files anywhere on this page"
            hint="WAV, AIFF, FLAC, ALAC, M4A, MP3, Ogg, Opus. Several at once."
          />
          <CheckAll versions={songs.data?.flatMap((song) => song.versions) ?? []} changes={changes} />
          {offerDemo && (
            <div className="demo-offer">
              <p className="note">No file at hand? An invented band left a record here, faults and all.</p>
              <button
                type="button"
                className="secondary"
                disabled={changes.useDemo.isPending}
                onClick={() => changes.useDemo.mutate(undefined, { onError: (error) => say(error.message) })}
              >
                {changes.useDemo.isPending ? 'Bringing it in…' : 'Use the demo record'}
              </button>
            </div>
          )}
        </div>
        <div className="body">
          <UploadList />
          {songs.data ? (
            <Ledger songs={songs.data} changes={changes} />
          ) : (
            <p className="note" role="status">
              Reading the bench…
            </p>
          )}
        </div>
      </div>
    </div>
  );
}

function Ledger({ songs, changes }: { songs: readonly Song[]; changes: Changes }) {
  const [sought, setSought] = useState('');
  const [limit, setLimit] = useState(songsAtOnce);
  if (songs.length === 0) return <EmptyBench />;
  const words = sought.trim().toLowerCase();
  const found = songs.filter(
    (song) =>
      song.title.toLowerCase().includes(words) ||
      song.versions.some((version) => version.name.toLowerCase().includes(words)),
  );
  return (
    <section aria-labelledby="songs">
      <div className="ledger-head">
        <h2 id="songs">{count(songs.length, 'song')}</h2>
        {songs.length >= worthFinding && (
          <label className="find">
            Find <input type="search" value={sought} onChange={(event) => setSought(event.target.value)} />
          </label>
        )}
      </div>
      {found.length === 0 ? (
        <p>No song or version is called that.</p>
      ) : (
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Version</th>
              <th scope="col" className="num">
                Loudness <small>LUFS</small>
              </th>
              <th scope="col" className="num">
                True peak <small>dBTP</small>
              </th>
              <th scope="col" className="num wide">
                PLR <small>dB</small>
              </th>
              <th scope="col" className="num wide">
                Length
              </th>
            </tr>
          </thead>
          {found.slice(0, limit).map((song) => (
            <SongRows key={song.id} song={song} changes={changes} />
          ))}
        </table>
      )}
      {found.length > limit && (
        <button type="button" className="secondary" onClick={() => setLimit(limit + songsAtOnce)}>
          Show {Math.min(songsAtOnce, found.length - limit)} more of {found.length} songs
        </button>
      )}
    </section>
  );
}

function SongRows({ song, changes }: { song: Song; changes: Changes }) {
  // The newest say most: when there are too many, the oldest are left to the song's own screen.
  const shown = song.versions.slice(-versionsAtOnce);
  const hidden = song.versions.length - shown.length;
  const remove = () =>
    changes.deleteSong.mutate(song.id, {
      onSuccess: () => offerUndo(`“${song.title}” was deleted.`, () => changes.restoreSong.mutate(song.id)),
      onError: (error) => say(error.message),
    });
  return (
    <tbody>
      <tr className="song-row">
        <th scope="rowgroup" colSpan={5}>
          <div className="song-title">
            <Link href={`/songs/${song.id}`} className="title-link">
              {song.title}
            </Link>
            <EditableText
              text={song.title}
              label="song"
              onChange={(title) =>
                changes.renameSong.mutate({ id: song.id, title }, { onError: (error) => say(error.message) })
              }
            />
            {song.demo && <span className="note">demo record</span>}
            {song.versions.some(({ verdict }) => verdict) && (
              <Link
                className="note"
                href={`/songs/${song.id}/desk`}
                aria-label={`Listen to ${song.title} at the desk`}
              >
                listen
              </Link>
            )}
            <button
              type="button"
              className="plain away"
              aria-label={`Delete song ${song.title}`}
              onClick={remove}
            >
              Delete
            </button>
          </div>
        </th>
      </tr>
      {hidden > 0 && (
        <tr>
          <td colSpan={5}>
            <Link href={`/songs/${song.id}`}>{count(hidden, 'earlier version')}</Link>
          </td>
        </tr>
      )}
      {shown.map((version) => (
        <tr key={version.id} className="version-row">
          <th scope="row">
            <Link href={`/versions/${version.id}`} className="title-link version-link">
              {version.name}
            </Link>{' '}
            <span className="note">{version.kind}</span>
            <div className="verdict-short">
              <VerdictLine version={version} changes={changes} />
            </div>
          </th>
          <td className="num">{figure(version.verdict?.integratedLufs)}</td>
          <td className="num">{inUnit(version.verdict?.truePeakDbtp, 'dBTP')}</td>
          <td className="num wide">{figure(version.verdict?.plrDb)}</td>
          <td className="num wide">{version.verdict ? clock(version.verdict.seconds) : '–'}</td>
        </tr>
      ))}
      {shown.length === 0 && (
        <tr>
          <td colSpan={5} className="note">
            No version left of this song.
          </td>
        </tr>
      )}
    </tbody>
  );
}

function EmptyBench() {
  return (
    <section aria-labelledby="empty">
      <h2 id="empty">Nothing on the bench yet</h2>
      <ol className="steps">
        <li>
          <strong>Bring in a bounce.</strong> Drop the file you mean to release, or a mix on its way there.
          Each song keeps all its versions side by side.
        </li>
        <li>
          <strong>Read the verdict.</strong> Loudness, peaks and tone are measured, the file is really coded
          and decoded as the streaming services would, and what is wrong is said in plain sentences.
        </li>
        <li>
          <strong>Mend and drop it again.</strong> The new bounce stands beside the old one, figure by figure.
        </li>
      </ol>
    </section>
  );
}
