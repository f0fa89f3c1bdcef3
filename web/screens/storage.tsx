import { useState } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import type { Storage } from '../../src/server/keeping-api.ts';
import { useClearStorage, useStorage } from '../api/keeping-queries.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { bytes } from '../words/figures.ts';

type Clearable = 'playback' | 'passages';

const lines: readonly { key: keyof Storage; label: string; about: string; clear?: Clearable }[] = [
  { key: 'audioBytes', label: 'Your files', about: 'Each kept once, however often it is used.' },
  {
    key: 'playbackBytes',
    label: 'Sound made ready for the desk',
    about: 'Made again the next time it is listened to.',
    clear: 'playback',
  },
  {
    key: 'passageBytes',
    label: 'Coded passages',
    about: 'Made again when a format is listened to.',
    clear: 'passages',
  },
  { key: 'databaseBytes', label: 'Figures, notes and sets', about: 'What was measured and written.' },
  {
    key: 'deletedBytes',
    label: 'Deleted, still kept',
    about: 'Files of deleted songs and versions that can still be taken back.',
  },
];

/** What lies on the disk, and what of it can be cleared. */
export function StorageScreen() {
  const storage = useStorage();
  const clear = useClearStorage();
  const [asked, setAsked] = useState<Clearable | null>(null);
  useTitle('Storage');
  if (storage.isError && !storage.data)
    return <Unanswered error={storage.error} retry={() => void storage.refetch()} />;
  if (!storage.data) return <Message title="Looking through the disk…" />;
  const { data } = storage;
  const line = lines.find((each) => each.clear === asked);
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin" />
        <div className="body">
          <h1 className="headline">What lies on the disk</h1>
          <p className="sentence">
            {bytes(data.audioBytes + data.playbackBytes + data.passageBytes + data.databaseBytes)} are in use;{' '}
            {bytes(data.freeBytes)} are free on this disk.
          </p>
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          <table className="figures storage">
            <caption>By kind</caption>
            <thead>
              <tr>
                <th scope="col">What</th>
                <th scope="col" className="num">
                  Size
                </th>
                <th scope="col">
                  <span className="hidden">Clear</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {lines.map(({ key, label, about, clear: what }) => (
                <tr key={key}>
                  <th scope="row">
                    {label}
                    <small className="note"> {about}</small>
                  </th>
                  <td className="num" data-storage={key}>
                    {bytes(data[key])}
                  </td>
                  <td className="num">
                    {what && (
                      <button
                        type="button"
                        className="plain"
                        aria-label={`Clear: ${label}`}
                        disabled={data[key] === 0}
                        onClick={() => setAsked(what)}
                      >
                        Clear…
                      </button>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </div>
      <ModalOverlay
        isOpen={line !== undefined}
        onOpenChange={(open) => !open && setAsked(null)}
        isDismissable
        className="overlay"
      >
        <Modal className="modal">
          {line && asked && (
            <Dialog className="dialog" role="alertdialog">
              <Heading slot="title">
                Clear {bytes(data[line.key])}: {line.label.toLowerCase()}?
              </Heading>
              <p className="sentence">Nothing of yours is lost. {line.about}</p>
              <div className="dialog-acts">
                <Button
                  className="primary"
                  isDisabled={clear.isPending}
                  onPress={() =>
                    clear.mutate([asked], {
                      onSuccess: () => setAsked(null),
                      onError: (error) => say(error.message),
                    })
                  }
                >
                  Clear it
                </Button>
                <Button slot="close" className="secondary">
                  Leave it
                </Button>
              </div>
            </Dialog>
          )}
        </Modal>
      </ModalOverlay>
    </div>
  );
}
