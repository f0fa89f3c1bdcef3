import { useState } from 'react';
import { Button, Dialog, Heading, ListBox, ListBoxItem, Modal, ModalOverlay } from 'react-aria-components';
import type { Version } from '../../src/server/api.ts';
import { type Changes, useSongs } from '../api/queries.ts';
import { say } from './toasts.tsx';

/** Songs listed at once; the field above narrows them. */
const listed = 100;

/** Asks which song a version belongs to; shown while `version` is given. */
export function MoveDialog({
  version,
  onClose,
  changes,
}: {
  version: Version | null;
  onClose: () => void;
  changes: Changes;
}) {
  return (
    <ModalOverlay
      isOpen={version !== null}
      onOpenChange={(open) => !open && onClose()}
      isDismissable
      className="overlay"
    >
      <Modal className="modal">
        {version && <Choice version={version} onClose={onClose} changes={changes} />}
      </Modal>
    </ModalOverlay>
  );
}

function Choice({ version, onClose, changes }: { version: Version; onClose: () => void; changes: Changes }) {
  const [sought, setSought] = useState('');
  const songs = (useSongs().data ?? []).filter(
    (song) => song.id !== version.songId && song.title.toLowerCase().includes(sought.trim().toLowerCase()),
  );
  const move = (songId: string) =>
    changes.patchVersion.mutate(
      { id: version.id, songId },
      { onSuccess: onClose, onError: (error) => say(error.message) },
    );
  return (
    <Dialog className="dialog">
      <Heading slot="title">Move “{version.name}” to which song?</Heading>
      <label className="find">
        Find <input type="search" value={sought} onChange={(event) => setSought(event.target.value)} />
      </label>
      <ListBox
        aria-label="Songs"
        className="list"
        onAction={(key) => move(String(key))}
        renderEmptyState={() => <p className="note">There is no other song of that name.</p>}
      >
        {songs.slice(0, listed).map((song) => (
          <ListBoxItem key={song.id} id={song.id} className="list-item">
            {song.title}
          </ListBoxItem>
        ))}
      </ListBox>
      {songs.length > listed && <p className="note">and {songs.length - listed} more; type to find one</p>}
      <Button slot="close" className="secondary">
        Leave it where it is
      </Button>
    </Dialog>
  );
}
