import { useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { WalkDetail } from '../../src/server/walk-api.ts';
import { useWalkChanges, useWalkSharing } from '../api/walk-queries.ts';
import { LinkList } from '../parts/link-list.tsx';
import { SharingPanel } from '../parts/sharing-panel.tsx';
import { say } from '../parts/toasts.tsx';
import { useWindowDrop, Veil } from '../uploads/drop-place.tsx';
import { saveFile } from '../voter/save-file.ts';
import { count } from '../words/figures.ts';

const failed = { onError: (error: Error) => say(error.message) };

/** Ways of the notebook out, and of its notes back. */
export function Going({ walk }: { walk: WalkDetail }) {
  const sharing = useWalkSharing();
  const { link, share, carry, withdraw, takeFile } = useWalkChanges(walk.id);
  const [trouble, setTrouble] = useState('');
  const mine = sharing.data?.walkId === walk.id;
  const take = async (files: readonly File[]) => {
    setTrouble('');
    for (const file of files)
      try {
        await takeFile.mutateAsync(JSON.parse(await file.text()));
      } catch (error) {
        setTrouble(
          error instanceof SyntaxError
            ? `${file.name} is no file of notes.`
            : error instanceof Error
              ? error.message
              : String(error),
        );
      }
  };
  const over = useWindowDrop(
    (files) => void take(files),
    (_name, message) => setTrouble(message),
  );
  const carryOut = () =>
    carry.mutate(undefined, {
      ...failed,
      onSuccess: (page) => {
        saveFile(page, `${walk.title} walk.html`);
        say('The notebook is where this browser puts downloads. Send it to your phone as you send any file.');
      },
    });
  return (
    <div className={over ? 'far-away over' : 'far-away'}>
      <div className="act-line">
        <button
          type="button"
          className="primary"
          disabled={link.isPending}
          onClick={() => link.mutate(undefined, failed)}
        >
          {mine ? 'A link to the notebook' : 'A link to the notebook here'}
        </button>
        <button type="button" className="secondary" disabled={carry.isPending} onClick={carryOut}>
          {carry.isPending ? 'Making the file…' : 'The notebook as one file'}
        </button>
        <FileTrigger
          acceptedFileTypes={['.json']}
          allowsMultiple
          onSelect={(files) => void take([...(files ?? [])])}
        >
          <Button className="secondary">Take in a file of notes…</Button>
        </FileTrigger>
      </div>
      {link.data && (
        <section className="invitation" aria-label="The new link">
          <p>
            <a className="primary link-button" href={link.data.path} target="_blank" rel="noreferrer">
              Open the notebook here
            </a>
          </p>
          {mine && link.data.links.length > 0 ? (
            <LinkList links={link.data.links} label="QR code of the notebook" />
          ) : (
            <p className="note">To open it on a phone, share the walk below, then make another link.</p>
          )}
          <p className="note">Shown once. Whoever has it can read this walk and add notes to it.</p>
        </section>
      )}
      <p className="note">
        The page on the network goes on working out of reach as long as its tab stays open. The file needs no
        network at all: notes stay in its browser and are sent by themselves while the walk is shared here, or
        come back as a small file that is dropped on this page. Some phones show such files without running
        them; then use the network, or a laptop.
      </p>
      <div role="status">
        {takeFile.data && trouble === '' && <p className="sentence">✓ {takeFile.data.sentences.join(' ')}</p>}
      </div>
      {trouble !== '' && (
        <p role="alert" className="sentence refusal">
          {trouble}
        </p>
      )}
      <SharingPanel
        what="walk"
        sharing={sharing.data}
        mine={mine}
        note="Plain http: whoever can listen in on this network could hear the excerpts. Share at home or in the studio, not in a café. A link opens this walk’s notebook and nothing else."
        waiting={share.isPending}
        onShare={(hours, done) => share.mutate({ on: true, hours }, { ...failed, onSuccess: done })}
        onStop={() => share.mutate({ on: false }, failed)}
      >
        <p className="sentence">
          Phones and laptops on the same network can then open a link to this notebook, hear the excerpts and
          send notes. It is plain http: whoever can listen in on this network could hear them too.
        </p>
      </SharingPanel>
      {walk.links > 0 && (
        <p className="note">
          {count(walk.links, 'link or file', 'links and files')} can send notes.{' '}
          <button type="button" className="plain" onClick={() => withdraw.mutate(undefined, failed)}>
            Withdraw all
          </button>
        </p>
      )}
      {over && <Veil />}
    </div>
  );
}
