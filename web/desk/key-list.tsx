import { useState } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { remember, remembered } from '../parts/remembered.ts';
import { deskKeys } from './key-table.ts';

const groups = [...new Set(deskKeys.map(({ group }) => group))];

/** Whether single keys work at all: those who speak to their machine, or press keys by accident, turn them off (WCAG 2.1.4). */
export function useKeysOn(): [boolean, (on: boolean) => void] {
  const [on, setOn] = useState(() => remembered('desk-keys') !== 'off');
  return [
    on,
    (next) => {
      remember('desk-keys', next ? 'on' : 'off');
      setOn(next);
    },
  ];
}

/** The list of keys as tables, a group each. */
function KeyTables() {
  return (
    <div className="key-tables">
      {groups.map((group) => (
        <table key={group} className="figures">
          <caption>{group}</caption>
          <tbody>
            {deskKeys
              .filter((line) => line.group === group)
              .map(({ act, shown, words }) => (
                <tr key={act}>
                  <th scope="row">
                    <kbd>{shown}</kbd>
                  </th>
                  <td>{words}</td>
                </tr>
              ))}
          </tbody>
        </table>
      ))}
    </div>
  );
}

export function KeyList({
  open,
  onClose,
  keysOn,
  onKeysOn,
}: {
  open: boolean;
  onClose: () => void;
  keysOn: boolean;
  onKeysOn: (on: boolean) => void;
}) {
  return (
    <>
      <ModalOverlay
        isOpen={open}
        onOpenChange={(next) => !next && onClose()}
        isDismissable
        className="overlay"
      >
        <Modal className="modal wide-modal">
          <Dialog className="dialog">
            <Heading slot="title">Keys of the desk</Heading>
            <p className="note">They rest while you write in a field and while a list like this is open.</p>
            <KeyTables />
            <label className="check-line">
              <input type="checkbox" checked={keysOn} onChange={(event) => onKeysOn(event.target.checked)} />
              Single keys work on this page
            </label>
            <div className="dialog-acts">
              <Button slot="close" className="primary">
                Close
              </Button>
              <Button className="secondary" onPress={() => window.print()}>
                Print this list
              </Button>
            </div>
          </Dialog>
        </Modal>
      </ModalOverlay>
      <div className="keys-print" aria-hidden="true">
        <p className="headline">Keys of the listening desk</p>
        <KeyTables />
      </div>
    </>
  );
}
