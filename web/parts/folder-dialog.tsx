import { useState } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import type { Folder } from '../../src/server/keeping-api.ts';
import { useFolders } from '../api/keeping-queries.ts';

/** Walks down the folders that the server offers; a folder is named by what the server called it. */
export function FolderDialog({
  act,
  waiting,
  onChosen,
  onClose,
}: {
  /** What is done with the folder: 'Watch'. */
  act: string;
  waiting: boolean;
  onChosen: (folder: Folder) => void;
  onClose: () => void;
}) {
  const [trail, setTrail] = useState<readonly Folder[]>([]);
  const here = trail.at(-1) ?? null;
  const folders = useFolders(here?.token ?? null, true);
  return (
    <ModalOverlay isOpen onOpenChange={(open) => !open && onClose()} isDismissable className="overlay">
      <Modal className="modal">
        <Dialog className="dialog">
          <Heading slot="title">Which folder?</Heading>
          <nav aria-label="Folders above this one" className="trail">
            <button type="button" className="plain" disabled={!here} onClick={() => setTrail([])}>
              Start
            </button>
            {trail.map((folder, i) => (
              <span key={folder.token}>
                {' / '}
                <button
                  type="button"
                  className="plain"
                  disabled={folder === here}
                  onClick={() => setTrail(trail.slice(0, i + 1))}
                >
                  {folder.name}
                </button>
              </span>
            ))}
          </nav>
          {folders.isError && <p className="sentence">{folders.error.message}</p>}
          {folders.data?.length === 0 && <p className="note">There is no folder inside this one.</p>}
          {folders.isPending && <p className="note">Looking…</p>}
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
          <section className="list" aria-label="Folders inside" tabIndex={0}>
            <ul>
              {folders.data?.map((folder) => (
                <li key={folder.token}>
                  <button type="button" className="folder" onClick={() => setTrail([...trail, folder])}>
                    {folder.name}
                  </button>
                </li>
              ))}
            </ul>
          </section>
          <div className="dialog-acts">
            <Button className="primary" isDisabled={!here || waiting} onPress={() => here && onChosen(here)}>
              {here ? `${act} “${here.name}”` : 'Open a folder first'}
            </Button>
            <Button slot="close" className="secondary">
              Leave it
            </Button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
