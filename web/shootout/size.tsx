import { useState } from 'react';
import type { ShootoutDetail, ShootoutSize } from '../../src/server/shootout-api.ts';
import { usePlan, useShootoutChanges } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';
import { AskDialog } from './ask-dialog.tsx';

const [mostListeners, mostRounds] = [100, 60];

/** How many listen and how often, what that can tell, and opening the voting. */
export function Size({ shootout }: { shootout: ShootoutDetail }) {
  const [size, setSize] = useState<ShootoutSize>({ listeners: 8 });
  const [asking, setAsking] = useState(false);
  const plan = usePlan(shootout, size);
  const { open } = useShootoutChanges(shootout.id);
  const { kind, missing } = shootout;
  const openVoting = () =>
    open.mutate(size, { onSuccess: () => setAsking(false), onError: (error) => say(error.message) });
  return (
    <>
      <div className="act-line">
        <Whole
          label="Listeners at most"
          value={size.listeners ?? null}
          most={mostListeners}
          onChange={(listeners) => setSize({ ...size, listeners: listeners ?? 8 })}
        />
        {kind !== 'rating' && (
          <Whole
            label={kind === 'abx' ? 'Trials each' : 'Rounds each'}
            value={size.rounds ?? null}
            most={mostRounds}
            empty={kind === 'abx' ? '16' : 'as fit'}
            onChange={(rounds) =>
              setSize(rounds === null ? { listeners: size.listeners } : { ...size, rounds })
            }
          />
        )}
      </div>
      <div aria-live="polite" className="plan">
        {missing !== null && <p className="sentence">{missing}</p>}
        {missing === null && plan.isFetching && (
          <p className="note">Working out what so many votes can tell…</p>
        )}
        {missing === null && plan.isError && <p className="sentence">{plan.error.message}</p>}
        {missing === null && plan.data && (
          <div className={plan.isPlaceholderData ? 'stale' : undefined}>
            <p className="plan-figures num">
              <b>{count(plan.data.rounds, kind === 'abx' ? 'trial' : 'round')}</b> a listener
            </p>
            {plan.data.sentences.map((sentence) => (
              <p key={sentence} className="sentence">
                {sentence}
              </p>
            ))}
          </div>
        )}
      </div>
      {kind === 'abx' && (
        <p className="note">The number of trials is fixed now, and the result is told after the last.</p>
      )}
      <button type="button" className="primary" disabled={missing !== null} onClick={() => setAsking(true)}>
        Open the voting…
      </button>
      {asking && (
        <AskDialog
          title="Open the voting?"
          act={open.isPending ? 'Making the masters fair…' : 'Open the voting'}
          leave="Not yet"
          waiting={open.isPending}
          onAct={openVoting}
          onClose={() => setAsking(false)}
        >
          <p className="sentence">
            The masters are aligned, cut and brought to equal loudness, and the rounds are drawn. From then on
            who takes part, the sections and the question stay as they are.
          </p>
        </AskDialog>
      )}
    </>
  );
}

/** A whole number that is taken when the field is left. */
function Whole({
  label,
  value,
  most,
  empty,
  onChange,
}: {
  label: string;
  value: number | null;
  most: number;
  /** What stands in the empty field; without it the field may not be empty. */
  empty?: string;
  onChange: (value: number | null) => void;
}) {
  const [text, setText] = useState(value === null ? '' : String(value));
  const take = () => {
    const wanted = Math.round(Number(text));
    if (text.trim() === '' && empty !== undefined) onChange(null);
    else if (Number.isFinite(wanted) && wanted >= 1) {
      const kept = Math.min(most, wanted);
      setText(String(kept));
      onChange(kept);
    } else setText(value === null ? '' : String(value));
  };
  return (
    <label className="find">
      {label}
      <input
        className="time"
        inputMode="numeric"
        value={text}
        placeholder={empty}
        onChange={(event) => setText(event.target.value)}
        onBlur={take}
        onKeyDown={(event) => event.key === 'Enter' && take()}
      />
    </label>
  );
}
