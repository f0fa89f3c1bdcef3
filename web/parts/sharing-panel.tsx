import { type ReactNode, useState } from 'react';
import { AskDialog } from '../shootout/ask-dialog.tsx';
import { moment } from '../shootout/words.ts';

const hoursOffered = [2, 6, 24, 72];

interface Shared {
  readonly on: boolean;
  readonly addresses: readonly string[];
  readonly expiresAt: string | null;
}

/** Whether others on this network can come in: off until somebody switches it on for this one thing. */
export function SharingPanel({
  what,
  sharing,
  mine,
  note,
  waiting,
  onShare,
  onStop,
  children,
}: {
  /** 'shoot-out', 'walk' */
  what: string;
  sharing: Shared | undefined;
  /** Whether it is this one that is shared, if one is. */
  mine: boolean;
  /** What is to be known while it is shared. */
  note: string;
  waiting: boolean;
  onShare: (hours: number, done: () => void) => void;
  onStop: () => void;
  /** Said before it is shared. */
  children: ReactNode;
}) {
  const [asking, setAsking] = useState(false);
  const [hours, setHours] = useState(6);
  const on = sharing?.on === true && mine;
  const elsewhere = sharing?.on === true && !mine;
  return (
    <section aria-labelledby="sharing" className="sharing">
      <h3 id="sharing">On this network</h3>
      {on ? (
        <>
          <p>
            <b>● Shared</b>
            {sharing.expiresAt && <span className="num"> until {moment(sharing.expiresAt)}</span>}, at{' '}
            {sharing.addresses.map((address, i) => (
              <span key={address}>
                {i > 0 && ' and '}
                <code className="path">{address}</code>
              </span>
            ))}
          </p>
          <p className="note">{note}</p>
          <button type="button" className="secondary" onClick={onStop}>
            Stop sharing
          </button>
        </>
      ) : (
        <>
          <p className="sentence">
            ○ Not shared. Nobody but this machine can reach it
            {elsewhere ? `; another ${what} is shared now, and would stop being so` : ''}.
          </p>
          <button type="button" className="secondary" onClick={() => setAsking(true)}>
            Share on this network…
          </button>
        </>
      )}
      {asking && (
        <AskDialog
          title={`Share this ${what} on your network?`}
          act="Share it"
          leave="Keep it here"
          waiting={waiting}
          onAct={() => onShare(hours, () => setAsking(false))}
          onClose={() => setAsking(false)}
        >
          {children}
          <label className="find">
            For
            <select value={hours} onChange={(event) => setHours(Number(event.target.value))}>
              {hoursOffered.map((each) => (
                <option key={each} value={each}>
                  {each} hours
                </option>
              ))}
            </select>
          </label>
        </AskDialog>
      )}
    </section>
  );
}
