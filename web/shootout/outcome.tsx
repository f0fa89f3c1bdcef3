import { useState } from 'react';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useShootoutChanges, useShootoutResults } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';
import { AskDialog } from './ask-dialog.tsx';
import { Results } from './results.tsx';

/** The votes so far without names, for those who want to look; whoever still votes had better not. */
export function VotesSoFar({ shootout: { id, votes } }: { shootout: ShootoutDetail }) {
  const [open, setOpen] = useState(false);
  const results = useShootoutResults(id, open);
  return (
    <details className="group" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <h3>Look at the votes so far</h3>
        <span className="note">without names; whoever still votes here had better not look</span>
      </summary>
      {open && (
        <div className="so-far">
          {results.data ? (
            <>
              <p className="note num">
                {count(votes, 'vote')} of {results.data.possible}. Letters stand for masters, dealt out by
                chance; ending a vote when it looks right makes its figures worth less.
              </p>
              <Results results={results.data} asHeadline={false} />
            </>
          ) : results.isError ? (
            <p className="sentence">{results.error.message}</p>
          ) : (
            <p className="note">Counting…</p>
          )}
        </div>
      )}
    </details>
  );
}

/** Ends voting and tells who is who. */
export function Reveal({ shootout: { id, votes, listeners } }: { shootout: ShootoutDetail }) {
  const { reveal } = useShootoutChanges(id);
  const [asking, setAsking] = useState(false);
  const waiting = listeners.filter(({ rounds, answered }) => answered < rounds);
  return (
    <>
      <p className="sentence">
        The reveal says whose master is whose, and ends voting for good.{' '}
        {waiting.length > 0 && `${count(waiting.length, 'listener is', 'listeners are')} not through yet.`}
      </p>
      <button type="button" className="primary" disabled={votes === 0} onClick={() => setAsking(true)}>
        Reveal…
      </button>
      {votes === 0 && <p className="note">There is no vote yet.</p>}
      {asking && (
        <AskDialog
          title="End the voting and reveal?"
          act="Reveal"
          leave="Keep voting open"
          waiting={reveal.isPending}
          onAct={() =>
            reveal.mutate(undefined, {
              onSuccess: () => setAsking(false),
              onError: (error) => say(error.message),
            })
          }
          onClose={() => setAsking(false)}
        >
          <p className="sentence">
            {waiting.length > 0
              ? `${count(waiting.length, 'listener has', 'listeners have')} rounds left, which stay unanswered. `
              : 'Everybody is through. '}
            This cannot be taken back.
          </p>
        </AskDialog>
      )}
    </>
  );
}

/** After the reveal: the verdict, its figures, and what each listener heard each master called. */
export function Outcome({ shootout: { id, entries } }: { shootout: ShootoutDetail }) {
  const results = useShootoutResults(id, true);
  if (results.isError && !results.data) return <p className="sentence">{results.error.message}</p>;
  if (results.data?.state !== 'revealed') return <p className="note">Counting…</p>;
  return (
    <>
      <Results results={results.data} asHeadline />
      <ul className="note who">
        {entries.map(({ id: entryId, maker, versionName, yours }) => (
          <li key={entryId}>
            <b>{maker}</b>
            {yours && ' (my own)'}: {versionName}
          </li>
        ))}
      </ul>
    </>
  );
}
