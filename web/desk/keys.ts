import { type DeskAct, deskKeys } from './key-table.ts';

/** What a key press asks for; null when it is not the desk's. `number` is that of a sound, 1 to 9. */
export function actFor(event: KeyboardEvent): { act: DeskAct; number: number } | null {
  // With AltGr some keyboards write brackets; it looks like Control and Alt together.
  const altGraph = event.getModifierState('AltGraph');
  if (event.metaKey || ((event.ctrlKey || event.altKey) && !altGraph)) return null;
  // On keyboards that write digits only with Shift, the key itself still says which one it is.
  const digit = /^(?:Digit|Numpad)([0-9])$/.exec(event.code)?.[1] ?? event.key;
  const written = deskKeys.find(
    ({ key, ...line }) =>
      key.toLowerCase() === event.key.toLowerCase() &&
      // Shift is part of writing a sign; with arrows it is a key of its own.
      (!key.startsWith('Arrow') || 'shift' in line === event.shiftKey),
  );
  if (written && !/^[0-9]$/.test(written.key)) return { act: written.act, number: 0 };
  if (digit === '0') return { act: 'back', number: 0 };
  if (/^[1-9]$/.test(digit)) return { act: 'choose', number: Number(digit) };
  return null;
}

/** Elements in which typing is meant for them. */
const fields =
  'input:not([type="range"], [type="radio"], [type="checkbox"]), textarea, select, [contenteditable]';
/** Elements with a use of their own for Space, and for arrows. */
const ownSpace = 'button, summary, [type="radio"], [type="checkbox"], [role="option"], [role^="menuitem"]';
const ownArrows = '[type="range"], [type="radio"], [role="application"], [role="option"], [role^="menuitem"]';
/** Where the desk's keys rest: whatever lies over it. */
const over = '[role="dialog"], [role="alertdialog"], [role="menu"]';

/** Whether a press belongs to what has the focus rather than to the desk. */
export function belongsElsewhere(event: KeyboardEvent): boolean {
  if (event.defaultPrevented || event.isComposing) return true;
  if (document.querySelector(over)) return true;
  const { target } = event;
  if (!(target instanceof Element)) return false;
  if (target.closest(fields)) return true;
  // A button that was clicked with the mouse keeps the focus unseen; Space still means playing then.
  if (event.key === ' ') return target.closest(ownSpace)?.matches(':focus-visible') ?? false;
  if (event.key.startsWith('Arrow')) return target.closest(ownArrows) !== null;
  return false;
}
