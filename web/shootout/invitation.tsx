import { useEffect, useRef } from 'react';
import type { Invitation } from '../../src/server/shootout-api.ts';
import { say } from '../parts/toasts.tsx';

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
        <ul className="links">
          {links.map(({ url, qrSvg }) => (
            <li key={url}>
              {/* Dark on white in both themes: cameras want it so. */}
              <img
                className="qr"
                src={`data:image/svg+xml,${encodeURIComponent(qrSvg)}`}
                alt={`QR code of the link of ${listener.name}`}
                width="168"
                height="168"
              />
              <div>
                <p>
                  <code className="path">{url}</code>
                </p>
                <button type="button" className="plain" onClick={() => void copy(url)}>
                  Copy the link
                </button>
              </div>
            </li>
          ))}
        </ul>
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

async function copy(text: string): Promise<void> {
  try {
    await navigator.clipboard.writeText(text);
    say('The link is copied.');
  } catch {
    say('The browser did not let the link be copied; mark it and copy it by hand.');
  }
}
