import type { ReactNode } from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';

/** Asks before something that cannot be taken back. */
export function AskDialog({
  title,
  act,
  leave,
  waiting,
  onAct,
  onClose,
  children,
}: {
  title: string;
  act: string;
  leave: string;
  waiting: boolean;
  onAct: () => void;
  onClose: () => void;
  children: ReactNode;
}) {
  return (
    <ModalOverlay
      isOpen
      onOpenChange={(open) => !open && !waiting && onClose()}
      isDismissable={!waiting}
      className="overlay"
    >
      <Modal className="modal">
        <Dialog className="dialog" role="alertdialog">
          <Heading slot="title">{title}</Heading>
          {children}
          <div className="dialog-acts">
            <Button className="primary" isDisabled={waiting} onPress={onAct}>
              {act}
            </Button>
            <Button autoFocus className="secondary" isDisabled={waiting} onPress={onClose}>
              {leave}
            </Button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
