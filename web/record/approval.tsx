import { useState } from 'react';
import type { ReviewLink } from '../../src/server/records-api.ts';
import { useReviewing, useReviewSharing, useReviews } from '../api/record-queries.ts';
import { LinkList } from '../parts/link-list.tsx';
import { SharingPanel } from '../parts/sharing-panel.tsx';
import { say } from '../parts/toasts.tsx';
import { clock } from '../words/figures.ts';

const wordOf = { approved: 'Approved.', withdrawn: 'Approval taken back.', wish: '' } as const;

/** What others said of this version, and letting them hear it on this network. */
export function Approval({ versionId, title }: { versionId: string; title: string }) {
  const reviews = useReviews(versionId);
  const [open, setOpen] = useState(false);
  const words = reviews.data?.words ?? [];
  return (
    <details className="group" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <h3>Approval</h3>
        <span className="note">
          {reviews.data?.approved
            ? '✓ this version is approved'
            : words.length > 0
              ? `${words.length} said, not approved`
              : 'nobody was asked yet'}
        </span>
      </summary>
      {words.length > 0 && (
        <ul className="plain-list">
          {words.map(({ id, what, by, text, atSeconds, at }) => (
            <li key={id}>
              <p>
                {atSeconds !== null && <span className="num">{clock(atSeconds)} </span>}
                {what === 'wish' ? text : <b>{wordOf[what]}</b>}
              </p>
              <p className="note">
                {by}, {at.slice(0, 10)}
              </p>
            </li>
          ))}
        </ul>
      )}
      {open && <Asking versionId={versionId} title={title} />}
    </details>
  );
}

function Asking({ versionId, title }: { versionId: string; title: string }) {
  const { link, withdraw, share } = useReviewing(versionId);
  const sharing = useReviewSharing();
  const [name, setName] = useState('');
  const [note, setNote] = useState('');
  const [made, setMade] = useState<ReviewLink | null>(null);
  const wrong = (error: Error) => say(error.message);
  return (
    <>
      <SharingPanel
        what="version"
        sharing={sharing.data}
        mine={sharing.data?.versionId === versionId}
        note="Whoever has a link can hear this one version, approve it and leave wishes; nothing else is there."
        waiting={share.isPending}
        onShare={(hours, done) => share.mutate({ on: true, hours }, { onSuccess: done, onError: wrong })}
        onStop={() => share.mutate({ on: false }, { onError: wrong })}
      >
        <p>The song can then be heard by those with a link, from devices in this network only.</p>
      </SharingPanel>
      <div className="field-grid">
        <label>
          Who is it for
          <input maxLength={100} value={name} onChange={(event) => setName(event.target.value)} />
        </label>
        <label>
          What you tell them
          <input maxLength={2000} value={note} onChange={(event) => setNote(event.target.value)} />
        </label>
      </div>
      <div className="act-line">
        <button
          type="button"
          className="secondary"
          disabled={name.trim() === '' || link.isPending}
          onClick={() => link.mutate({ name, note }, { onSuccess: setMade, onError: wrong })}
        >
          Make a link to “{title}”
        </button>
        <button
          type="button"
          className="plain"
          onClick={() =>
            withdraw.mutate(undefined, {
              onSuccess: () => say('Every link to this version is dead.'),
              onError: wrong,
            })
          }
        >
          Withdraw all links
        </button>
      </div>
      {made &&
        (made.links.length > 0 ? (
          <LinkList links={made.links} label={`QR code of the link to ${title}`} />
        ) : (
          <p>
            On this machine: <a href={made.path}>the page for {name}</a>.{' '}
            <span className="note">
              Share the version on the network and make a link again for other devices.
            </span>
          </p>
        ))}
    </>
  );
}
