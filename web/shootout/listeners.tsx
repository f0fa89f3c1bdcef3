import { useState } from 'react';
import { ProgressBar } from 'react-aria-components';
import type { Invitation, ShootoutDetail, ShootoutListener } from '../../src/server/shootout-api.ts';
import { type ShootoutChanges, useSharing, useShootoutChanges } from '../api/shootout-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { say } from '../parts/toasts.tsx';
import { InvitationView } from './invitation.tsx';
import { moment, whereWords } from './words.ts';

const failed = { onError: (error: Error) => say(error.message) };

/** Who listens, how far each has come, and letting others in. How anybody voted is not here. */
export function Listeners({ shootout }: { shootout: ShootoutDetail }) {
  const changes = useShootoutChanges(shootout.id);
  const sharing = useSharing();
  const [invitation, setInvitation] = useState<Invitation | null>(null);
  const [name, setName] = useState('');
  const { listeners, size } = shootout;
  const shared = sharing.data?.on === true && sharing.data.shootoutId === shootout.id;
  const full = size !== null && listeners.length >= size.listeners;
  const invite = (where: 'here' | 'network') =>
    changes.invite.mutate(
      { name, where },
      {
        ...failed,
        onSuccess: (made) => {
          setInvitation(made);
          setName('');
        },
      },
    );
  return (
    <>
      {listeners.length === 0 ? (
        <p className="sentence">Nobody listens yet. Name the first, yourself perhaps.</p>
      ) : (
        <ul className="plain-list listeners" aria-live="polite">
          {listeners.map((listener) => (
            <ListenerRow
              key={listener.id}
              listener={listener}
              open={shootout.state === 'open'}
              changes={changes}
              onInvitation={setInvitation}
            />
          ))}
        </ul>
      )}
      {shootout.state === 'open' && (
        <>
          {invitation && (
            <InvitationView
              key={invitation.path}
              invitation={invitation}
              shared={shared}
              onDone={() => setInvitation(null)}
            />
          )}
          <form className="act-line" onSubmit={(event) => event.preventDefault()}>
            <label className="find">
              Listener
              <input maxLength={100} value={name} onChange={(event) => setName(event.target.value)} />
            </label>
            <button
              type="submit"
              className="secondary"
              disabled={name.trim() === '' || full || changes.invite.isPending}
              onClick={() => invite('here')}
            >
              Listens at this machine
            </button>
            <button
              type="button"
              className="secondary"
              disabled={name.trim() === '' || full || !shared || changes.invite.isPending}
              onClick={() => invite('network')}
            >
              Listens on this network
            </button>
          </form>
          {full && <p className="note">As many listeners as were planned are here.</p>}
          {!shared && !full && (
            <p className="note">For listeners on this network, share the shoot-out first.</p>
          )}
        </>
      )}
    </>
  );
}

function ListenerRow({
  listener,
  open,
  changes,
  onInvitation,
}: {
  listener: ShootoutListener;
  open: boolean;
  changes: ShootoutChanges;
  onInvitation: (invitation: Invitation | null) => void;
}) {
  const { id, name, where, rounds, answered, linkExpiresAt } = listener;
  const done = answered >= rounds;
  const runOut = linkExpiresAt !== null && new Date(linkExpiresAt) <= new Date();
  const link =
    where === 'folder'
      ? ''
      : linkExpiresAt === null
        ? ', link withdrawn'
        : runOut
          ? ', link has run out'
          : `, link until ${moment(linkExpiresAt)}`;
  return (
    <li>
      <div className="master-head">
        <span className="version-link">{name}</span>
        <EditableText
          text={name}
          label="listener"
          onChange={(text) => changes.renameListener.mutate({ listenerId: id, name: text }, failed)}
        />
        <span className="note">
          {whereWords[where]}
          {open && !done && link}
        </span>
      </div>
      <div className="listener-progress">
        <ProgressBar
          aria-label={`Answers of ${name}`}
          value={answered}
          maxValue={rounds}
          className="progress"
        >
          {({ percentage }) => (
            <div className="bar">
              <div style={{ width: `${percentage}%` }} />
            </div>
          )}
        </ProgressBar>
        <span className="num">{done ? `✓ all ${rounds} answered` : `${answered} of ${rounds} answered`}</span>
        {open && where !== 'folder' && !done && (
          <button
            type="button"
            className="plain"
            aria-label={`New link for ${name}`}
            onClick={() => changes.newLink.mutate(id, { ...failed, onSuccess: onInvitation })}
          >
            New link
          </button>
        )}
        {open &&
          !done &&
          (where === 'folder' ? answered === 0 : linkExpiresAt !== null || answered === 0) && (
            <button
              type="button"
              className="plain"
              aria-label={`Withdraw ${name}`}
              onClick={() => changes.withdraw.mutate(id, { ...failed, onSuccess: () => onInvitation(null) })}
            >
              Withdraw
            </button>
          )}
      </div>
    </li>
  );
}
