import { useState } from 'react';
import type { ChainStep } from '../../src/server/chains-api.ts';
import { useChainSteps } from '../api/chain-queries.ts';
import type { EditedChain } from './use-chain.ts';

const when = new Intl.DateTimeFormat('en-GB', {
  day: 'numeric',
  month: 'short',
  hour: '2-digit',
  minute: '2-digit',
});

/** Undo, redo, and all that the chain ever was. */
export function History({ edited }: { edited: EditedChain }) {
  const { detail, undo, redo, state } = edited;
  const unkept = state === 'keeping';
  return (
    <section className="history" aria-labelledby="history">
      <h2 id="history">What was done</h2>
      <div className="act-line">
        <button
          type="button"
          className="secondary"
          aria-keyshortcuts="Control+Z"
          disabled={detail.undo === null && !unkept}
          onClick={undo}
        >
          Undo{' '}
          <span className="key-cap" aria-hidden="true">
            Ctrl Z
          </span>
        </button>
        <button
          type="button"
          className="secondary"
          aria-keyshortcuts="Control+Shift+Z Control+Y"
          disabled={detail.redo === null}
          onClick={redo}
        >
          Redo{' '}
          <span className="key-cap" aria-hidden="true">
            Ctrl Y
          </span>
        </button>
        <span className="note" role="status" data-kept={state}>
          {state === 'kept' ? 'Every change is kept.' : state === 'keeping' ? 'Keeping…' : 'Not kept.'}
        </span>
      </div>
      {detail.undo && <p className="note">Undo takes back: {detail.undo.join('; ')}.</p>}
      {detail.redo && <p className="note">Redo makes again: {detail.redo.join('; ')}.</p>}
      <Steps edited={edited} />
    </section>
  );
}

function Steps({ edited }: { edited: EditedChain }) {
  const [open, setOpen] = useState(false);
  const [before, setBefore] = useState<number | null>(null);
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>All that it ever was</summary>
      {open && <StepPage edited={edited} before={before} onBefore={setBefore} />}
    </details>
  );
}

function StepPage({
  edited,
  before,
  onBefore,
}: {
  edited: EditedChain;
  before: number | null;
  onBefore: (before: number | null) => void;
}) {
  const { detail, goBack } = edited;
  // Asked for again at every change: an undo moves the mark, a change adds a line.
  const steps = useChainSteps(detail.id, detail.revision, before);
  if (!steps.data) return <p className="note">{steps.error?.message ?? 'Reading the steps…'}</p>;
  const last = steps.data.steps.at(-1);
  return (
    <>
      <ol className="plain-list step-list">
        {steps.data.steps.map((step) => (
          <StepLine
            key={step.step}
            step={step}
            here={step.step === detail.step}
            names={detail.snapshots.filter((each) => each.step === step.step).map(({ name }) => name)}
            onBack={() => goBack(step.step)}
          />
        ))}
      </ol>
      {(steps.data.more || before !== null) && (
        <p className="act-line">
          {before !== null && (
            <button type="button" className="plain" onClick={() => onBefore(null)}>
              The newest
            </button>
          )}
          {steps.data.more && last && (
            <button type="button" className="plain" onClick={() => onBefore(last.step)}>
              Earlier ones
            </button>
          )}
        </p>
      )}
      <p className="note">Going back is a step of its own: nothing that came after is lost.</p>
    </>
  );
}

function StepLine({
  step: { step, from, words, madeAt },
  here,
  names,
  onBack,
}: {
  step: ChainStep;
  here: boolean;
  names: readonly string[];
  onBack: () => void;
}) {
  return (
    <li className={here ? 'step here' : 'step'} aria-current={here ? 'step' : undefined}>
      <span className="num step-number">{step}</span>
      <span>
        {here && <b>Now: </b>}
        {words.join('; ')}
        {names.map((name) => (
          <em key={name}> “{name}”</em>
        ))}
        <span className="note">
          {' '}
          {when.format(new Date(madeAt))}
          {from !== null && from !== step - 1 && `, made from step ${from}`}
        </span>
      </span>
      {!here && (
        <button type="button" className="plain" aria-label={`Go back to it, step ${step}`} onClick={onBack}>
          Go back to it
        </button>
      )}
    </li>
  );
}
