import { type Ref, useEffect, useImperativeHandle, useRef, useState } from 'react';
import { Button } from 'react-aria-components';
import type { Note } from '../../src/server/keeping-api.ts';
import { type NoteChanges, useNoteChanges, useNotes } from '../api/keeping-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { clock, count, stretch } from '../words/figures.ts';

export interface NotesHandle {
  /** Opens the field for a note at a moment of the version, and puts the focus there. */
  begin(atSeconds: number, endSeconds: number | null): void;
}

/** Notes on one version, in the order of the song; carried ones say where they come from. */
export function NotesPanel({
  ref,
  versionId,
  versionName,
  onGo,
  onBegin,
}: {
  ref: Ref<NotesHandle>;
  versionId: string;
  versionName: string;
  /** Goes to a moment of the version. */
  onGo: (seconds: number) => void;
  /** Asked for a note here and now by the button. */
  onBegin: () => void;
}) {
  const notes = useNotes(versionId);
  const changes = useNoteChanges(versionId);
  const [draft, setDraft] = useState<{ at: number; end: number | null } | null>(null);
  const [text, setText] = useState('');
  const field = useRef<HTMLTextAreaElement>(null);
  /** Where the focus was before: writing a note goes back there, so that the keys go on working. */
  const before = useRef<HTMLElement | null>(null);

  useImperativeHandle(ref, () => ({
    begin: (at, end) => {
      const { activeElement } = document;
      if (activeElement !== field.current)
        before.current = activeElement instanceof HTMLElement ? activeElement : null;
      setDraft({ at, end });
    },
  }));

  useEffect(() => {
    if (draft) field.current?.focus();
  }, [draft]);

  const leave = () => {
    setDraft(null);
    setText('');
    field.current?.blur();
    before.current?.focus();
  };
  const keep = () => {
    if (!draft || text.trim() === '') return leave();
    changes.addNote.mutate(
      { atSeconds: draft.at, endSeconds: draft.end, text },
      { onSuccess: leave, onError: (error) => say(error.message) },
    );
  };
  const open = notes.data?.filter(({ done }) => !done).length ?? 0;

  return (
    <section className="notes" aria-labelledby="notes-heading">
      <div className="notes-head">
        <h2 id="notes-heading">Notes</h2>
        <button type="button" className="act" aria-keyshortcuts="n" onClick={onBegin}>
          New note here{' '}
          <span className="key-cap" aria-hidden="true">
            N
          </span>
        </button>
      </div>
      <p className="note">
        On {versionName}
        {notes.data && notes.data.length > 0 && `: ${open} open of ${count(notes.data.length, 'note')}`}
      </p>
      {draft && (
        <form
          className="note-form"
          onSubmit={(event) => {
            event.preventDefault();
            keep();
          }}
        >
          <label htmlFor="note-text">
            Note at <span className="num">{clock(draft.at, 1)}</span>
          </label>
          <textarea
            id="note-text"
            ref={field}
            rows={2}
            maxLength={2000}
            value={text}
            onChange={(event) => setText(event.target.value)}
            onKeyDown={(event) => {
              if (event.key === 'Escape') leave();
              else if (event.key === 'Enter' && !event.shiftKey) {
                event.preventDefault();
                keep();
              }
            }}
          />
          <div className="note-acts">
            <button type="submit" className="primary" disabled={changes.addNote.isPending}>
              Keep it
            </button>
            <button type="button" className="plain" onClick={leave}>
              Leave it
            </button>
            <span className="note">Enter keeps, Escape leaves.</span>
          </div>
        </form>
      )}
      {notes.isError && !notes.data && <p className="sentence">{notes.error.message}</p>}
      {notes.data?.length === 0 && !draft && (
        <p className="note">None yet. Press N while you listen: the moment is written down with it.</p>
      )}
      <ul className="note-list">
        {notes.data?.map((note) => (
          <NoteLine key={note.id} note={note} changes={changes} onGo={onGo} />
        ))}
      </ul>
    </section>
  );
}

function NoteLine({
  note,
  changes,
  onGo,
}: {
  note: Note;
  changes: NoteChanges;
  onGo: (seconds: number) => void;
}) {
  const failed = { onError: (error: Error) => say(error.message) };
  const place =
    note.endSeconds === null
      ? clock(note.atSeconds, 1)
      : stretch({ startSeconds: note.atSeconds, endSeconds: note.endSeconds });
  const remove = () =>
    changes.deleteNote.mutate(note.id, {
      ...failed,
      onSuccess: () =>
        offerUndo(`The note at ${place} was deleted.`, () => changes.restoreNote.mutate(note.id, failed)),
    });
  return (
    <li className={note.done ? 'note-line done' : 'note-line'} data-note={note.id}>
      <input
        type="checkbox"
        checked={note.done}
        aria-label={`Done: ${note.text}`}
        onChange={(event) => changes.patchNote.mutate({ id: note.id, done: event.target.checked }, failed)}
      />
      <button
        type="button"
        className="place num"
        aria-label={`Go to ${place}: ${note.text}`}
        onClick={() => onGo(note.atSeconds)}
      >
        {place}
      </button>
      <div className="note-words">
        <p>{note.text}</p>
        {note.carriedFrom && (
          <p className="note">
            from {note.carriedFrom.name}, at {clock(note.carriedFrom.atSeconds, 1)} there
          </p>
        )}
        {note.doubt && <p className="note">△ {note.doubt}</p>}
      </div>
      <div className="note-tools">
        <EditableText
          text={note.text}
          label="note"
          verb="Change"
          onChange={(text) => changes.patchNote.mutate({ id: note.id, text }, failed)}
        />
        <Button className="rename" aria-label={`Delete the note at ${place}`} onPress={remove}>
          <svg viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
            <path d="M3 3l10 10M13 3L3 13" fill="none" stroke="currentColor" strokeWidth="1.5" />
          </svg>
        </Button>
      </div>
    </li>
  );
}
