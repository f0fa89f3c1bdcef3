import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { useSetChanges, useSets } from '../api/keeping-queries.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';

/** All reference sets, and how to begin one. */
export function SetsScreen() {
  const sets = useSets();
  useTitle('Reference sets');
  if (sets.isError && !sets.data) return <Unanswered error={sets.error} retry={() => void sets.refetch()} />;
  if (!sets.data) return <Message title="Reading the sets…" />;
  const { data } = sets;
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            The files are your own. They stay on this machine and are never put into a report as sound.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">Records you know by heart</h1>
          <p className="sentence">
            A set of references tells you where your version lies among records you trust. Ten or so are
            enough: released, in the manner of the song, and known so well that you would hear them change.
          </p>
        </div>
      </div>
      <div className="entry">
        <div className="margin">
          <NewSet />
        </div>
        <div className="body">{data.length === 0 ? <HowToBegin /> : <SetList sets={data} />}</div>
      </div>
    </div>
  );
}

function NewSet() {
  const [, go] = useLocation();
  const { makeSet } = useSetChanges();
  const [name, setName] = useState('');
  return (
    <form
      className="new-set"
      onSubmit={(event) => {
        event.preventDefault();
        if (name.trim() === '') return;
        makeSet.mutate(name.trim(), {
          onSuccess: ({ id }) => go(`/sets/${id}`),
          onError: (error) => say(error.message),
        });
      }}
    >
      <label htmlFor="set-name">Name of a new set</label>
      <input
        id="set-name"
        maxLength={200}
        value={name}
        onChange={(event) => setName(event.target.value)}
        autoComplete="off"
      />
      <button type="submit" className="primary" disabled={makeSet.isPending || name.trim() === ''}>
        Make the set
      </button>
    </form>
  );
}

function HowToBegin() {
  return (
    <>
      <h2>No set yet</h2>
      <ol className="steps">
        <li>Name a set after what it is for: quiet songs, loud songs, voice and piano.</li>
        <li>Drop about ten of your own files of released records into it: lossless ones, not streams.</li>
        <li>They are measured once. From then on every version can be held against all of them.</li>
      </ol>
    </>
  );
}

function SetList({ sets }: { sets: readonly ReferenceSet[] }) {
  return (
    <section aria-labelledby="sets">
      <h2 id="sets">{count(sets.length, 'set')}</h2>
      <ul className="plain-list">
        {sets.map((set) => {
          const waiting = set.members.filter(({ checked }) => !checked).length;
          return (
            <li key={set.id}>
              <h3>
                <Link href={`/sets/${set.id}`} className="title-link">
                  {set.name}
                </Link>
              </h3>
              <p className="note">
                {set.members.length === 0
                  ? 'empty'
                  : `${count(set.members.length, 'record')}${waiting ? `, ${waiting} not checked to the end` : ''}: ${set.members
                      .slice(0, 4)
                      .map(({ songTitle, name }) => songTitle || name)
                      .join(', ')}${set.members.length > 4 ? ' …' : ''}`}
              </p>
            </li>
          );
        })}
      </ul>
    </section>
  );
}
