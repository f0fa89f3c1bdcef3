import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { ReferenceSetDetail } from '../../src/server/keeping-api.ts';
import { type SetChanges, useSet, useSetChanges } from '../api/keeping-queries.ts';
import { useSongs } from '../api/queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { SpreadPlot } from '../plots/spread.tsx';
import { SpreadFigures } from '../sets/spread-figures.tsx';
import { DropPlace } from '../uploads/drop-place.tsx';
import { UploadList } from '../uploads/upload-list.tsx';
import { count } from '../words/figures.ts';

const failed = { onError: (error: Error) => say(error.message) };
/** So many records make a spread that one more hardly moves (heuristic). */
const enough = 10;

/** One reference set: its records, and the spread they make. */
export function SetScreen({ id }: { id: string }) {
  const set = useSet(id);
  useTitle(set.data?.name ?? 'Reference set');
  if (set.isError && !set.data) return <Unanswered error={set.error} retry={() => void set.refetch()} />;
  if (!set.data) return <Message title="Reading the set…" />;
  return <SetSheet set={set.data} />;
}

function SetSheet({ set }: { set: ReferenceSetDetail }) {
  const changes = useSetChanges();
  const [, go] = useLocation();
  const [part, setPart] = useState<'whole' | 'loudest'>('whole');
  const measured = set.members.filter(({ checked }) => checked).length;
  const spread = set[part];
  const remove = () => {
    // First away from what is about to be no more.
    go('/sets');
    changes.deleteSet.mutateAsync(set.id).then(
      () =>
        offerUndo(`“${set.name}” was deleted. Its records are still on the bench.`, () =>
          changes.restoreSet.mutate(set.id),
        ),
      (error: Error) => say(error.message),
    );
  };
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/sets">Reference sets</Link> / set
          </nav>
        </div>
        <div className="body">
          <h1 className="headline with-action">
            {set.name}{' '}
            <EditableText
              text={set.name}
              label="set"
              onChange={(name) => changes.renameSet.mutate({ id: set.id, name }, failed)}
            />
          </h1>
        </div>
      </div>
      <div className="entry">
        <div className="margin stays">
          <DropPlace
            setId={set.id}
            label="Drop records into this set"
            hint="Your own files of released records. They are measured once and stay on this machine."
          />
          <button type="button" className="plain" onClick={remove}>
            Delete this set
          </button>
        </div>
        <div className="body">
          <UploadList setId={set.id} />
          <Members set={set} changes={changes} />
          <FromBench set={set} changes={changes} />
        </div>
      </div>
      {measured > 0 && (
        <section className="entry" aria-labelledby="spread">
          <div className="margin">
            <p className="note">Tone at equal loudness: each band against the whole.</p>
          </div>
          <div className="body">
            <h2 id="spread">The spread of {count(measured, 'record')}</h2>
            <label className="find">
              Over
              <select value={part} onChange={(event) => setPart(event.target.value as typeof part)}>
                <option value="whole">whole songs</option>
                <option value="loudest">the loudest section of each</option>
              </select>
            </label>
            <SpreadPlot title={`Spread of ${set.name}`} spread={spread} />
            <SpreadFigures spread={spread} />
          </div>
        </section>
      )}
    </div>
  );
}

function Members({ set, changes }: { set: ReferenceSetDetail; changes: SetChanges }) {
  const { members } = set;
  const takeOut = (versionId: string, name: string) =>
    changes.removeMember.mutate(
      { setId: set.id, versionId },
      {
        ...failed,
        onSuccess: () =>
          offerUndo(`“${name}” was taken out of the set. It is still on the bench.`, () =>
            changes.addMember.mutate({ setId: set.id, versionId }, failed),
          ),
      },
    );
  return (
    <section aria-labelledby="records">
      <h2 id="records">{members.length === 0 ? 'No record yet' : count(members.length, 'record')}</h2>
      {members.length < enough && (
        <p className="sentence">
          {members.length === 0
            ? 'Drop about ten records you know by heart: your own files, released, in the manner of what you work on.'
            : `About ten make a spread that one more hardly moves; ${count(enough - members.length, 'more', 'more')} would do.`}
        </p>
      )}
      <ul className="plain-list members">
        {members.map(({ versionId, name, songTitle, checked }) => (
          <li key={versionId}>
            <Link href={`/versions/${versionId}`} className="version-link title-link">
              {songTitle || name}
            </Link>
            <span className="note">{checked ? 'measured' : 'not checked to the end yet'}</span>
            <button
              type="button"
              className="plain"
              aria-label={`Take out ${songTitle || name}`}
              onClick={() => takeOut(versionId, songTitle || name)}
            >
              Take out
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** References that are on the bench already. */
function FromBench({ set, changes }: { set: ReferenceSetDetail; changes: SetChanges }) {
  const songs = useSongs();
  const within = new Set(set.members.map(({ versionId }) => versionId));
  const others = (songs.data ?? []).flatMap((song) =>
    song.versions
      .filter(({ kind, id }) => kind === 'reference' && !within.has(id))
      .map((version) => ({ version, song })),
  );
  if (others.length === 0) return null;
  return (
    <details className="group from-bench">
      <summary>
        <h3>From the bench</h3>{' '}
        <span className="note">{count(others.length, 'reference')} that could join</span>
      </summary>
      <ul className="plain-list members">
        {others.map(({ version, song }) => (
          <li key={version.id}>
            <span className="version-link">{song.title}</span>
            <span className="note">{version.verdict ? 'measured' : 'not checked yet'}</span>
            <button
              type="button"
              className="plain"
              aria-label={`Put in ${song.title}`}
              disabled={changes.addMember.isPending}
              onClick={() => changes.addMember.mutate({ setId: set.id, versionId: version.id }, failed)}
            >
              Put in
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}
