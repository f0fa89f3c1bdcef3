import { useState } from 'react';
import type { Version } from '../../src/server/api.ts';
import type { ShootoutDetail, ShootoutEntry } from '../../src/server/shootout-api.ts';
import { useSong } from '../api/queries.ts';
import { type ShootoutChanges, useShootoutChanges } from '../api/shootout-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';

const failed = { onError: (error: Error) => say(error.message) };

/** The masters that take part, by maker; only the host sees this. */
export function Entries({ shootout }: { shootout: ShootoutDetail }) {
  const changes = useShootoutChanges(shootout.id);
  const { entries } = shootout;
  const draft = shootout.state === 'draft';
  return (
    <>
      {entries.length > 0 && (
        <ul className="plain-list masters">
          {entries.map((entry) => (
            <Entry key={entry.id} entry={entry} draft={draft} changes={changes} />
          ))}
        </ul>
      )}
      {draft && <FromSong shootout={shootout} changes={changes} />}
    </>
  );
}

function Entry({
  entry: { id, maker, versionName, yours, notes },
  draft,
  changes,
}: {
  entry: ShootoutEntry;
  draft: boolean;
  changes: ShootoutChanges;
}) {
  const { isPending, variables } = changes.patchEntry;
  const mine = (isPending && variables.entryId === id ? variables.yours : undefined) ?? yours;
  return (
    <li>
      <div className="master-head">
        <span className="version-link">{maker}</span>
        <EditableText
          text={maker}
          label="maker"
          onChange={(name) => changes.patchEntry.mutate({ entryId: id, maker: name }, failed)}
        />
        <label className="note mine">
          <input
            type="checkbox"
            checked={mine}
            onChange={(event) =>
              changes.patchEntry.mutate({ entryId: id, yours: event.target.checked }, failed)
            }
          />{' '}
          my own
        </label>
        {draft && (
          <button
            type="button"
            className="plain"
            aria-label={`Take out ${maker}`}
            onClick={() => changes.removeEntry.mutate(id, failed)}
          >
            Take out
          </button>
        )}
      </div>
      <p className="note path">{versionName}</p>
      {notes.map((note) => (
        <p key={note} className="note">
          {note}
        </p>
      ))}
    </li>
  );
}

/** Versions that are on the bench already. */
function FromSong({ shootout, changes }: { shootout: ShootoutDetail; changes: ShootoutChanges }) {
  const song = useSong(shootout.songId);
  const within = new Set(shootout.entries.map(({ versionId }) => versionId));
  const others = (song.data?.versions ?? []).filter(
    ({ id, kind }) => kind !== 'reference' && !within.has(id) && id !== shootout.mixVersionId,
  );
  if (others.length === 0) return null;
  return (
    <details className="group from-bench" open={shootout.entries.length === 0}>
      <summary>
        <h3>From the bench</h3>{' '}
        <span className="note">{count(others.length, 'version')} that could take part</span>
      </summary>
      <ul className="plain-list members">
        {others.map((version) => (
          <Candidate key={version.id} version={version} changes={changes} />
        ))}
      </ul>
    </details>
  );
}

function Candidate({ version: { id, name }, changes }: { version: Version; changes: ShootoutChanges }) {
  const [maker, setMaker] = useState('');
  const [waiting, setWaiting] = useState(false);
  const take = () => {
    setWaiting(true);
    changes.addVersion
      .mutateAsync({ versionId: id, maker })
      .catch((error: Error) => say(error.message))
      .finally(() => setWaiting(false));
  };
  return (
    <li>
      <span className="version-link">{name}</span>
      <input
        aria-label={`Maker of ${name}`}
        placeholder="made by"
        maxLength={200}
        value={maker}
        onChange={(event) => setMaker(event.target.value)}
      />
      <button
        type="button"
        className="plain"
        aria-label={`Let it take part: ${name}`}
        disabled={waiting || maker.trim() === ''}
        onClick={take}
      >
        {waiting ? 'Laying it over the mix…' : 'Let it take part'}
      </button>
    </li>
  );
}
