import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { figure } from '../words/figures.ts';

/** Asked once, before anything is heard. */
export function Caution({ open, levelDb, onRead }: { open: boolean; levelDb: number; onRead: () => void }) {
  return (
    <ModalOverlay isOpen={open} isKeyboardDismissDisabled className="overlay">
      <Modal className="modal">
        <Dialog className="dialog" role="alertdialog">
          <Heading slot="title">Before you listen: start low</Heading>
          <p className="sentence">
            Turn your amplifier or headphones well down first, then play, then come up slowly to a level at
            which you could still talk. The desk itself starts at {figure(levelDb, 0)} dB and never gets
            louder by itself: matching only ever turns down.
          </p>
          <p className="sentence">
            Long and loud listening harms hearing and spoils judgement. The desk keeps a clock and says when a
            pause is due. Its figures are rough; the rules where you work, and people qualified for hearing,
            go before them.
          </p>
          <Button autoFocus className="primary" onPress={onRead}>
            It is turned down
          </Button>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
