import { useState } from 'react';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useSharing, useShootoutChanges } from '../api/shootout-queries.ts';
import { say } from '../parts/toasts.tsx';
import { AskDialog } from './ask-dialog.tsx';
import { moment } from './words.ts';

const hoursOffered = [2, 6, 24, 72];

/** Whether others on this network can come in: off until somebody switches it on for this shoot-out. */
export function SharingSwitch({ shootout: { id } }: { shootout: ShootoutDetail }) {
  const sharing = useSharing();
  const { share } = useShootoutChanges(id);
  const [asking, setAsking] = useState(false);
  const [hours, setHours] = useState(6);
  const failed = { onError: (error: Error) => say(error.message) };
  const on = sharing.data?.on === true && sharing.data.shootoutId === id;
  const elsewhere = sharing.data?.on === true && !on;
  return (
    <section aria-labelledby="sharing" className="sharing">
      <h3 id="sharing">On this network</h3>
      {on ? (
        <>
          <p>
            <b>● Shared</b>
            {sharing.data?.expiresAt && <span className="num"> until {moment(sharing.data.expiresAt)}</span>},
            at{' '}
            {sharing.data?.addresses.map((address, i) => (
              <span key={address}>
                {i > 0 && ' and '}
                <code className="path">{address}</code>
              </span>
            ))}
          </p>
          <p className="note">
            Plain http: whoever can listen in on this network could hear the sections. Share at home or in the
            studio, not in a café. Each link opens one listener’s rounds and nothing else.
          </p>
          <button type="button" className="secondary" onClick={() => share.mutate({ on: false }, failed)}>
            Stop sharing
          </button>
        </>
      ) : (
        <>
          <p className="sentence">
            ○ Not shared. Nobody but this machine can reach it
            {elsewhere ? '; another shoot-out is shared now, and would stop being so' : ''}.
          </p>
          <button type="button" className="secondary" onClick={() => setAsking(true)}>
            Share on this network…
          </button>
        </>
      )}
      {asking && (
        <AskDialog
          title="Share this shoot-out on your network?"
          act="Share it"
          leave="Keep it here"
          waiting={share.isPending}
          onAct={() => share.mutate({ on: true, hours }, { ...failed, onSuccess: () => setAsking(false) })}
          onClose={() => setAsking(false)}
        >
          <p className="sentence">
            Phones and laptops on the same network can then open their own link and hear the sections, without
            names. It is plain http: whoever can listen in on this network could hear them too.
          </p>
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
