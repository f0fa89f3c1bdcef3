import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { Song, Version, VersionDetail } from '../../src/server/api.ts';
import { type Changes, useChanges, useSong, useVersions } from '../api/queries.ts';
import { CheckAll } from '../parts/check-all.tsx';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { MoveDialog } from '../parts/move-dialog.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { VerdictLine } from '../parts/verdict-line.tsx';
import { VersionMenu } from '../parts/version-menu.tsx';
import { SongShootouts } from '../shootout/song-shootouts.tsx';
import { DropPlace } from '../uploads/drop-place.tsx';
import { UploadList } from '../uploads/upload-list.tsx';
import { SongWalks } from '../walk/song-walks.tsx';
import { count, difference, inUnit } from '../words/figures.ts';
import { comparedFigures } from '../words/glossary.ts';

/** Versions compared at first; the newest come first into view when there are more. */
const versionsAtOnce = 60;

/** One song: all that was ever bounced of it, figure beside figure. */
export function SongScreen({ id }: { id: string }) {
  const song = useSong(id);
  useTitle(song.data?.title ?? 'Song');
  if (song.isError && !song.data) return <Unanswered error={song.error} retry={() => void song.refetch()} />;
  if (!song.data) return <Message title="Reading the song…" />;
  return <SongSheet song={song.data} />;
}

function SongSheet({ song }: { song: Song }) {
  const changes = useChanges();
  const [, go] = useLocation();
  const failed = { onError: (error: Error) => say(error.message) };
  const remove = () =>
    changes.deleteSong.mutate(song.id, {
      ...failed,
      onSuccess: () => {
        offerUndo(`“${song.title}” was deleted.`, () => changes.restoreSong.mutate(song.id));
        go('/');
      },
    });
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            <Link href="/">Bench</Link> / song
          </p>
          {song.demo && <p className="note">From the invented demo record.</p>}
        </div>
        <div className="body">
          <h1 className="headline with-action">
            {song.title}{' '}
            <EditableText
              text={song.title}
              label="song"
              onChange={(title) => changes.renameSong.mutate({ id: song.id, title }, failed)}
            />
          </h1>
          {song.versions.length > 0 && (
            <p>
              <Link className="primary link-button" href={`/songs/${song.id}/desk`}>
                Listen at the desk
              </Link>
            </p>
          )}
        </div>
      </div>
      <div className="entry">
        <div className="margin stays">
          <DropPlace
            songId={song.id}
            label="Drop a new bounce of this song"
            hint="It becomes a version here, compared with the others."
          />
          <CheckAll versions={song.versions} changes={changes} />
          <button type="button" className="plain" onClick={remove}>
            Delete this song
          </button>
        </div>
        <div className="body">
          <UploadList songId={song.id} />
          {song.versions.length === 0 ? (
            <p>This song has no version yet. Drop a file to give it one.</p>
          ) : (
            <Comparison song={song} changes={changes} />
          )}
        </div>
      </div>
      <SongShootouts song={song} />
      <SongWalks song={song} />
    </div>
  );
}

function Comparison({ song, changes }: { song: Song; changes: Changes }) {
  const [baseId, setBaseId] = useState<string | null>(null);
  const [all, setAll] = useState(false);
  const [moving, setMoving] = useState<Version | null>(null);
  const versions = all ? song.versions : song.versions.slice(-versionsAtOnce);
  const details = useVersions(versions.map((v) => v.id));
  const baseIndex = Math.max(
    0,
    versions.findIndex((v) => v.id === baseId),
  );
  const base = details[baseIndex]?.report ? details[baseIndex] : undefined;
  return (
    <section aria-labelledby="versions">
      <div className="ledger-head">
        <h2 id="versions">{count(song.versions.length, 'version')}</h2>
        {base && (
          <p className="note">
            Small figures: difference to <em>{base.name}</em>.
          </p>
        )}
      </div>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
      <section className="scroll" aria-label="Comparison of versions" tabIndex={0}>
        <table className="compare">
          <thead>
            <tr>
              <th scope="col">Version</th>
              {comparedFigures.map((column) => (
                <th key={column.label} scope="col" className="num" title={column.meaning}>
                  {column.label} <small>{column.unit}</small>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {versions.map((version, i) => (
              <VersionRow
                key={version.id}
                version={version}
                detail={details[i]}
                base={base}
                isBase={i === baseIndex}
                onBase={() => setBaseId(version.id)}
                onMove={() => setMoving(version)}
                changes={changes}
              />
            ))}
          </tbody>
        </table>
      </section>
      {versions.length < song.versions.length && (
        <button type="button" className="secondary" onClick={() => setAll(true)}>
          Show the {song.versions.length - versions.length} earlier versions too
        </button>
      )}
      <MoveDialog version={moving} onClose={() => setMoving(null)} changes={changes} />
    </section>
  );
}

function VersionRow({
  version,
  detail,
  base,
  isBase,
  onBase,
  onMove,
  changes,
}: {
  version: Version;
  detail: VersionDetail | undefined;
  base: VersionDetail | undefined;
  isBase: boolean;
  onBase: () => void;
  onMove: () => void;
  changes: Changes;
}) {
  const failed = { onError: (error: Error) => say(error.message) };
  const remove = () =>
    changes.deleteVersion.mutate(version.id, {
      ...failed,
      onSuccess: () =>
        offerUndo(`“${version.name}” was deleted.`, () => changes.restoreVersion.mutate(version.id)),
    });
  // Where there are no figures, what stands in the way has their room.
  const unread = !version.verdict;
  const columns = unread ? [] : comparedFigures;
  const verdict = (
    <div className="verdict-short">
      <VerdictLine version={version} changes={changes} />
    </div>
  );
  return (
    <tr className={isBase ? 'base' : undefined}>
      <th scope="row">
        <div className="version-name">
          <Link href={`/versions/${version.id}`} className="title-link version-link">
            {version.name}
          </Link>
          <EditableText
            text={version.name}
            label="version"
            onChange={(name) => changes.patchVersion.mutate({ id: version.id, name }, failed)}
          />
          <VersionMenu version={version} changes={changes} onMove={onMove} onDelete={remove} />
        </div>
        <div className="version-tools">
          <span className="note">{version.kind}</span>
          <Link className="note" href={`/versions/${version.id}/places`}>
            in other places
          </Link>
          {base && !isBase && (
            <Link className="note" href={`/versions/${version.id}/change/${base.id}`}>
              what changed
            </Link>
          )}
          <label className="note">
            <input type="radio" name="base" checked={isBase} onChange={onBase} /> compare with this
          </label>
        </div>
        {!unread && verdict}
      </th>
      {unread && <td colSpan={comparedFigures.length}>{verdict}</td>}
      {columns.map((column) => {
        const value = detail?.report ? column.read(detail.report) : null;
        const baseValue = base?.report && !isBase ? column.read(base.report) : null;
        return (
          <td key={column.label} className="num">
            {inUnit(value, column.unit)}
            {value !== null && baseValue !== null && <small>{difference(value - baseValue)}</small>}
          </td>
        );
      })}
    </tr>
  );
}
