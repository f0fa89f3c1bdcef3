import { useState } from 'react';
import type { ChainDetail } from '../../src/server/chains-api.ts';
import { type ChainActs, nameSnapshot } from '../api/chain-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { say } from '../parts/toasts.tsx';
import type { EditedChain } from './use-chain.ts';

/** The sound of the chain as it is now, among those that can be heard. */
export const nowId = 'now';

/** The chain as it is and its named snapshots: one of them is heard, all at equal loudness. */
export function Snapshots({
  edited,
  acts,
  heard,
  onHear,
}: {
  edited: EditedChain;
  acts: ChainActs;
  heard: string;
  onHear: (id: string) => void;
}) {
  const [name, setName] = useState('');
  const { detail } = edited;
  const failed = { onError: (error: Error) => say(error.message) };
  return (
    <section className="snapshots" aria-labelledby="snapshots">
      <h2 id="snapshots">Heard against each other</h2>
      <ol className="plain-list">
        <HearLine number={1} name="As it is now" on={heard === nowId} onHear={() => onHear(nowId)} />
        {detail.snapshots.map((snapshot, i) => (
          <HearLine
            key={snapshot.id}
            number={i + 2}
            name={snapshot.name}
            on={heard === snapshot.id}
            onHear={() => onHear(snapshot.id)}
          >
            <SnapshotTools
              snapshot={snapshot}
              here={snapshot.step === detail.step}
              onBack={() => edited.goBack(snapshot.step)}
              onRename={(next) =>
                acts.renameSnapshot.mutate({ id: detail.id, snapshotId: snapshot.id, name: next }, failed)
              }
              onRemove={() => {
                if (heard === snapshot.id) onHear(nowId);
                acts.removeSnapshot.mutate({ id: detail.id, snapshotId: snapshot.id }, failed);
              }}
            />
          </HearLine>
        ))}
      </ol>
      <form
        className="act-line"
        onSubmit={(event) => {
          event.preventDefault();
          if (name.trim() === '') return;
          void edited
            .act((revision) => nameSnapshot(detail.id, revision, name.trim()))
            .then((done) => done && setName(''));
        }}
      >
        <input
          aria-label="Name of the snapshot"
          placeholder="a name for it"
          maxLength={100}
          value={name}
          onChange={(event) => setName(event.target.value)}
        />
        <button type="submit" className="secondary" disabled={name.trim() === ''}>
          Keep this as a snapshot
        </button>
      </form>
    </section>
  );
}

function HearLine({
  number,
  name,
  on,
  onHear,
  children,
}: {
  number: number;
  name: string;
  on: boolean;
  onHear: () => void;
  children?: React.ReactNode;
}) {
  return (
    <li className={on ? 'hear-line heard' : 'hear-line'}>
      <button type="button" className="source-button" aria-pressed={on} onClick={onHear}>
        <span className={number > 9 ? 'no-key' : 'key-cap'} aria-hidden="true">
          {number > 9 ? '' : number}
        </span>
        <span className="source-name">{name}</span>
        {on && <span className="heard-word">heard</span>}
      </button>
      {children}
    </li>
  );
}

function SnapshotTools({
  snapshot,
  here,
  onBack,
  onRename,
  onRemove,
}: {
  snapshot: ChainDetail['snapshots'][number];
  here: boolean;
  onBack: () => void;
  onRename: (name: string) => void;
  onRemove: () => void;
}) {
  return (
    <span className="part-tools">
      <EditableText text={snapshot.name} label="snapshot" onChange={onRename} />
      {!here && (
        <button
          type="button"
          className="plain"
          aria-label={`Go back to it, “${snapshot.name}”`}
          onClick={onBack}
        >
          Go back to it
        </button>
      )}
      <button type="button" className="plain" aria-label={`Forget “${snapshot.name}”`} onClick={onRemove}>
        Forget
      </button>
    </span>
  );
}
