import {
  Button,
  Text,
  UNSTABLE_Toast as Toast,
  UNSTABLE_ToastContent as ToastContent,
  UNSTABLE_ToastQueue as ToastQueue,
  UNSTABLE_ToastRegion as ToastRegion,
} from 'react-aria-components';

interface Notice {
  readonly text: string;
  readonly undo?: () => void;
}

const notices = new ToastQueue<Notice>({ maxVisibleToasts: 3 });

/** Milliseconds an offer to undo stays; it waits while pointed at or focused. What was deleted can be restored until then and after. */
const undoFor = 20_000;

/** Says that something is gone and offers to take it back. */
export function offerUndo(text: string, undo: () => void): void {
  notices.add({ text, undo }, { timeout: undoFor });
}

/** Says a sentence that nobody should miss: stays until dismissed. */
export function say(text: string): void {
  notices.add({ text });
}

export function Toasts() {
  return (
    <ToastRegion queue={notices} className="toasts" aria-label="Notices">
      {({ toast }) => (
        <Toast toast={toast} className="toast">
          <ToastContent className="toast-words">
            <Text slot="title">{toast.content.text}</Text>
          </ToastContent>
          {toast.content.undo && (
            <Button
              className="plain strong"
              onPress={() => {
                toast.content.undo?.();
                notices.close(toast.key);
              }}
            >
              Undo
            </Button>
          )}
          <Button slot="close" className="plain">
            Dismiss
          </Button>
        </Toast>
      )}
    </ToastRegion>
  );
}
