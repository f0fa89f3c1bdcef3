import { useState } from 'react';
import { Link } from 'wouter';
import type { Watch } from '../../src/server/keeping-api.ts';
import { useWatch, useWatchChanges } from '../api/keeping-queries.ts';
import { FolderDialog } from '../parts/folder-dialog.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';

/** Folders from which new bounces come in by themselves, and what came in. */
export function WatchScreen() {
  const watch = useWatch();
  const [choosing, setChoosing] = useState(false);
  const { watchFolder } = useWatchChanges();
  useTitle('Watched folders');
  if (watch.isError && !watch.data)
    return <Unanswered error={watch.error} retry={() => void watch.refetch()} />;
  if (!watch.data) return <Message title="Reading the folders…" />;
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            Files still being written are left until they are whole. Nothing in the folder is changed, and
            folders inside it are left alone.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">New bounces come in by themselves</h1>
          <p className="sentence">
            Name the folder your sessions bounce into. Each new file becomes the next version of the song it
            resembles, is checked, and what changed is said here in three lines.
          </p>
        </div>
      </div>
      <div className="entry">
        <div className="margin">
          <button type="button" className="primary" onClick={() => setChoosing(true)}>
            Choose a folder…
          </button>
        </div>
        <div className="body">
          <Folders watch={watch.data} />
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <Arrivals watch={watch.data} />
        </div>
      </div>
      {choosing && (
        <FolderDialog
          act="Watch"
          onClose={() => setChoosing(false)}
          onChosen={(folder) =>
            watchFolder.mutate(folder.token, {
              onSuccess: () => setChoosing(false),
              onError: (error) => say(error.message),
            })
          }
          waiting={watchFolder.isPending}
        />
      )}
    </div>
  );
}

function Folders({ watch }: { watch: Watch }) {
  const { unwatchFolder } = useWatchChanges();
  if (watch.folders.length === 0)
    return (
      <>
        <h2>No folder is watched</h2>
        <p className="sentence">
          Choose the folder in which your bounces appear, and leave the rest to the desk.
        </p>
      </>
    );
  return (
    <section aria-labelledby="folders">
      <h2 id="folders">{count(watch.folders.length, 'folder')}</h2>
      <ul className="plain-list members">
        {watch.folders.map(({ id, path, trouble }) => (
          <li key={id}>
            <code className="path">{path}</code>
            <span className="note">{trouble === null ? 'watched' : `△ ${trouble}`}</span>
            <button
              type="button"
              className="plain"
              aria-label={`Watch it no more: ${path}`}
              onClick={() => unwatchFolder.mutate(id, { onError: (error) => say(error.message) })}
            >
              Watch it no more
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Arrivals({ watch }: { watch: Watch }) {
  if (watch.arrivals.length === 0)
    return (
      <>
        <h2>Nothing has come in yet</h2>
        {watch.folders.length > 0 && (
          <p className="sentence">Bounce something into the folder; it is noticed within seconds.</p>
        )}
      </>
    );
  return (
    <section aria-labelledby="arrivals">
      <h2 id="arrivals">What came in</h2>
      <ol className="plain-list arrivals">
        {watch.arrivals.map((arrival) => (
          <li key={`${arrival.at} ${arrival.fileName}`}>
            <p>
              <b className="version-link">
                {arrival.versionId ? (
                  <Link href={`/versions/${arrival.versionId}`}>{arrival.fileName}</Link>
                ) : (
                  arrival.fileName
                )}
              </b>{' '}
              <time className="note num" dateTime={arrival.at}>
                {new Date(arrival.at).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' })}
              </time>
            </p>
            <p className="note">
              {arrival.how}
              {arrival.songId && (
                <>
                  {' '}
                  <Link href={`/songs/${arrival.songId}`}>{arrival.songTitle}</Link>
                </>
              )}
            </p>
            <ul>
              {arrival.lines.map((line) => (
                <li key={line} className="sentence">
                  {line}
                </li>
              ))}
            </ul>
            {arrival.songId && (
              <Link className="note" href={`/songs/${arrival.songId}/desk`}>
                Listen at the desk
              </Link>
            )}
          </li>
        ))}
      </ol>
    </section>
  );
}
