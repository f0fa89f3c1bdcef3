import { useEffect, useRef } from 'react';
import type { Invitation } from '../../src/server/shootout-api.ts';
import { LinkList } from '../parts/link-list.tsx';

/** A link to a listener's rounds. It is told once: only its hash is kept. */
export function InvitationView({
  invitation: { listener, path, links },
  shared,
  onDone,
}: {
  invitation: Invitation;
  shared: boolean;
  onDone: () => void;
}) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus(), []);
  const here = listener.where === 'here';
  return (
    <section className="invitation" aria-labelledby="invitation">
      <h3 id="invitation" ref={heading} tabIndex={-1}>
        {here ? `${listener.name} can begin` : `The link of ${listener.name}`}
      </h3>
      {here ? (
        <p>
          <a className="primary link-button" href={path} target="_blank" rel="noreferrer">
            Open the rounds of {listener.name}
          </a>
        </p>
      ) : links.length === 0 ? (
        <p className="sentence">
          {shared
            ? 'This machine has no address on a network now.'
            : 'Share the shoot-out, then ask for a new link.'}
        </p>
      ) : (
        <LinkList links={links} label={`QR code of the link of ${listener.name}`} />
      )}
      <p className="note">
        Shown once. Whoever has it votes as {listener.name}; a new link makes this one dead.
      </p>
      <button type="button" className="plain" onClick={onDone}>
        Put it away
      </button>
    </section>
  );
}
