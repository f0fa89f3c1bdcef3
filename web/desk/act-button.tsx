import type { ReactNode } from 'react';
import { ariaKey, type DeskAct, deskKeys } from './key-table.ts';

/** A button for one act of the desk, with its key on it. `on` makes it one that stays pressed. */
export function ActButton({
  act,
  on,
  className = 'act',
  disabled,
  onAct,
  children,
}: {
  act: DeskAct;
  on?: boolean;
  className?: string;
  disabled?: boolean;
  onAct: () => void;
  children: ReactNode;
}) {
  const { shown } = deskKeys.find((each) => each.act === act)!;
  return (
    <button
      type="button"
      className={className}
      aria-pressed={on}
      aria-keyshortcuts={ariaKey(act)}
      disabled={disabled}
      onClick={onAct}
    >
      {on !== undefined && <OnMark on={on} />}
      <span>{children}</span>{' '}
      <span className="key-cap" aria-hidden="true">
        {shown}
      </span>
    </button>
  );
}

/** A filled square for on, an open one for off. */
function OnMark({ on }: { on: boolean }) {
  return (
    <svg className="mark" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
      <rect
        x="1.5"
        y="1.5"
        width="9"
        height="9"
        fill={on ? 'currentColor' : 'none'}
        stroke="currentColor"
        strokeWidth="1.5"
      />
    </svg>
  );
}
