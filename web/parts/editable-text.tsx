import { useEffect, useRef, useState } from 'react';
import { Button } from 'react-aria-components';

/**
 * A text that turns into a field when pressed. Enter or leaving keeps the change, Escape takes it back; an
 * empty text is never kept.
 */
export function EditableText({
  text,
  label,
  verb = 'Rename',
  onChange,
}: {
  text: string;
  /** What is being renamed, for those who cannot see it: 'song title'. */
  label: string;
  verb?: string;
  onChange: (text: string) => void;
}) {
  const [draft, setDraft] = useState<string | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const button = useRef<HTMLButtonElement>(null);
  const returnFocus = useRef(false);
  const editing = draft !== null;

  useEffect(() => {
    if (editing) field.current?.select();
    else if (returnFocus.current) {
      returnFocus.current = false;
      button.current?.focus();
    }
  }, [editing]);

  const finish = (keep: boolean) => {
    const next = draft?.trim() ?? '';
    if (keep && next !== '' && next !== text) onChange(next);
    setDraft(null);
  };

  if (!editing)
    return (
      <Button
        ref={button}
        className="rename"
        aria-label={`${verb} ${label} ${text}`}
        onPress={() => setDraft(text)}
      >
        <svg viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
          <path d="M2 14l1-4 8-8 3 3-8 8-4 1Z" fill="none" stroke="currentColor" strokeWidth="1.3" />
        </svg>
      </Button>
    );
  return (
    <input
      ref={field}
      className="edit"
      aria-label={label}
      maxLength={verb === 'Rename' ? 200 : 2000}
      value={draft}
      onChange={(event) => setDraft(event.target.value)}
      onBlur={() => finish(true)}
      onKeyDown={(event) => {
        if (event.key !== 'Enter' && event.key !== 'Escape') return;
        event.preventDefault();
        event.stopPropagation();
        returnFocus.current = true;
        finish(event.key === 'Enter');
      }}
    />
  );
}
