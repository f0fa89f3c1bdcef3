import { useEffect, useRef } from 'react';
import type { ChainPart } from '../../src/finish/chain.ts';
import { ActButton } from '../desk/act-button.tsx';
import { onFrame } from '../desk/frames.ts';
import { Loudness, Position, Steps } from '../desk/transport.tsx';
import type { Desk } from '../desk/use-desk.ts';
import { figure } from '../words/figures.ts';
import { kindTitle } from './parts-list.tsx';
import type { Takes } from './use-takes.ts';

/** Play, place and what of the chain is heard: stays in view. */
export function Heard({
  desk,
  takes,
  heardName,
  part,
  narrow,
  onPlay,
  onBypass,
  onTaken,
}: {
  desk: Desk;
  takes: Takes;
  /** What is heard, as the list calls it. */
  heardName: string;
  /** The part that is looked at. */
  part: ChainPart | undefined;
  narrow: boolean;
  onPlay: () => void;
  onBypass: () => void;
  onTaken: () => void;
}) {
  const { running, hearing, state } = desk;
  const takenBy = part !== undefined && hearing.takenBy === part.id;
  return (
    <section className="transport" aria-label="Playing">
      <div className="transport-row">
        <ActButton act="play" className="primary play" onAct={onPlay}>
          {running ? 'Pause' : 'Play'}
        </ActButton>
        <Position desk={desk} />
        {!narrow && <Steps desk={desk} />}
        {!narrow && <Loudness desk={desk} />}
      </div>
      <div className="transport-row">
        <KeyButton shown="C" on={hearing.withoutChain} onAct={onBypass}>
          Without the chain
        </KeyButton>
        <KeyButton shown="A" on={takenBy} disabled={part === undefined || part.bypassed} onAct={onTaken}>
          What {part ? `the ${kindTitle(part.kind).toLowerCase()} takes away` : 'a part takes away'}
        </KeyButton>
        <p className="heard-line" role="status" data-player={state.state}>
          <span aria-hidden="true">▶ </span>
          <b>
            {hearing.withoutChain
              ? 'The version as it is'
              : takenBy
                ? `What ${part ? kindTitle(part.kind) : 'it'} takes away`
                : heardName}
          </b>
          {state.state === 'loading' && <span className="note"> (fetching its sound…)</span>}
        </p>
      </div>
      {(!narrow || !desk.matching || takes.error) && <LevelLine desk={desk} takes={takes} />}
      {state.trouble && (
        <div className="trouble" role="alert">
          <strong>{state.trouble}</strong>
          <button type="button" className="secondary" onClick={desk.play}>
            Try again
          </button>
        </div>
      )}
      {!state.trouble && state.state === 'locked' && (
        <p className="note">Press Play or the space bar: the browser lets no sound out before a press.</p>
      )}
    </section>
  );
}

/** What the bar has no room for on a phone. */
export function HeardRest({ desk, takes }: { desk: Desk; takes: Takes }) {
  return (
    <section className="transport-rest" aria-label="Place, loop and level">
      <div className="transport-row">
        <Steps desk={desk} />
      </div>
      <div className="transport-row">
        <Loudness desk={desk} />
      </div>
      {desk.matching && !takes.error && <LevelLine desk={desk} takes={takes} />}
    </section>
  );
}

function KeyButton({
  shown,
  on,
  disabled = false,
  onAct,
  children,
}: {
  shown: string;
  on: boolean;
  disabled?: boolean;
  onAct: () => void;
  children: React.ReactNode;
}) {
  return (
    <button
      type="button"
      className="act"
      aria-pressed={on}
      aria-keyshortcuts={shown}
      disabled={disabled}
      onClick={onAct}
    >
      <span>{children}</span>{' '}
      <span className="key-cap" aria-hidden="true">
        {shown}
      </span>
    </button>
  );
}

/** Whether what is heard is equally loud, on what; off is said so that nobody misses it. */
function LevelLine({ desk, takes }: { desk: Desk; takes: Takes }) {
  const { matching, acts, loop } = desk;
  const change =
    takes.heardLufs !== null && takes.sourceLufs !== null ? takes.heardLufs - takes.sourceLufs : null;
  return (
    <div className={matching ? 'match-line' : 'match-line off'} data-matching={matching ? 'on' : 'off'}>
      <ActButton act="match" on={matching} onAct={acts.match}>
        Equal loudness
      </ActButton>
      {!matching ? (
        <strong className="match-off">
          <span aria-hidden="true">△ </span>Loudness is not matched: whatever is louder will seem better.
        </strong>
      ) : takes.error ? (
        <span role="alert">
          <strong>How loud the chain is could not be found out.</strong> {takes.error.message}{' '}
          <button type="button" className="plain" onClick={takes.retry}>
            Match again
          </button>
        </span>
      ) : (
        <span className="note num" data-levels={takes.pending ? 'pending' : 'known'}>
          {takes.pending
            ? 'Finding out how loud it is…'
            : change === null
              ? 'Nothing here has a loudness.'
              : `On ${loop ? 'the loop' : 'the loudest part'} the chain makes it ${Math.abs(change) < 0.05 ? 'neither louder nor quieter' : `${figure(Math.abs(change))} LU ${change > 0 ? 'louder' : 'quieter'}`}; that is taken back here.`}
        </span>
      )}
      <Work desk={desk} />
    </div>
  );
}

/** Latency and load, written straight into the page: React has no part in it. */
function Work({ desk: { player } }: { desk: Desk }) {
  const text = useRef<HTMLSpanElement>(null);
  useEffect(
    () =>
      onFrame(() => {
        if (!text.current) return;
        const { load, chainLatencySeconds, underruns } = player.work();
        const late = `Late by ${figure(1000 * chainLatencySeconds, chainLatencySeconds < 0.01 ? 1 : 0)} ms, which switching makes up for`;
        const busy =
          load === null ? '' : `; it takes ${figure(100 * load, load < 0.1 ? 1 : 0)} % of one processor core`;
        const slow =
          underruns > 0
            ? `; the machine was too slow ${underruns === 1 ? 'once' : `${underruns} times`}`
            : '';
        const words = `${late}${busy}${slow}.`;
        if (text.current.textContent !== words) text.current.textContent = words;
      }),
    [player],
  );
  return <span ref={text} className="note num" data-work />;
}
