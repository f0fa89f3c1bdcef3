import { useState } from 'react';
import type { WalkDetail } from '../../src/server/walk-api.ts';
import { usePlaces } from '../api/place-queries.ts';
import { useWalkChanges, useWalkHistory } from '../api/walk-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { moment } from '../shootout/words.ts';
import { tapsWords, tapWords } from './words.ts';

type Stop = WalkDetail['stops'][number];
const failed = { onError: (error: Error) => say(error.message) };

/** The places of a walk, what was noted in each, and adding more. */
export function Stops({ walk }: { walk: WalkDetail }) {
  const places = usePlaces();
  const { addStop } = useWalkChanges(walk.id);
  const [placeId, setPlaceId] = useState('');
  const [name, setName] = useState('');
  const add = () =>
    addStop.mutate(
      { placeId: placeId === '' ? null : placeId, ...(name.trim() === '' ? {} : { name: name.trim() }) },
      {
        ...failed,
        onSuccess: () => {
          setPlaceId('');
          setName('');
        },
      },
    );
  return (
    <>
      {walk.stops.length === 0 ? (
        <p className="sentence">No place yet. Add those you will go to; others can be added on the way.</p>
      ) : (
        <ul className="plain-list walk-stops">
          {walk.stops.map((stop) => (
            <StopRow key={stop.id} walk={walk} stop={stop} places={places.data ?? []} />
          ))}
        </ul>
      )}
      <form
        className="act-line"
        onSubmit={(event) => {
          event.preventDefault();
          add();
        }}
      >
        <label className="find">
          Place
          <select value={placeId} onChange={(event) => setPlaceId(event.target.value)}>
            <option value="">not in the library</option>
            {(places.data ?? []).map(({ place }) => (
              <option key={place.id} value={place.id}>
                {place.name}
              </option>
            ))}
          </select>
        </label>
        <label className="find">
          Called
          <input maxLength={80} value={name} onChange={(event) => setName(event.target.value)} />
        </label>
        <button
          type="submit"
          className="secondary"
          disabled={addStop.isPending || (placeId === '' && name.trim() === '')}
        >
          Add the place
        </button>
      </form>
    </>
  );
}

function StopRow({
  walk,
  stop,
  places,
}: {
  walk: WalkDetail;
  stop: Stop;
  places: readonly { place: { id: string; name: string } }[];
}) {
  const { patchStop, removeStop, restoreStop } = useWalkChanges(walk.id);
  const { id, name, placeId, trust, state, song, references, notes, lastAt } = stop;
  const [draft, setDraft] = useState<number | null>(null);
  const percent = Math.round(100 * (draft ?? trust));
  const keep = () => {
    if (draft !== null && draft !== trust) patchStop.mutate({ stopId: id, trust: draft }, failed);
    setDraft(null);
  };
  const remove = () =>
    removeStop.mutate(id, {
      ...failed,
      onSuccess: () =>
        offerUndo(`“${name}” was left out; its notes are kept.`, () => restoreStop.mutate(id, failed)),
    });
  return (
    <li>
      <div className="master-head">
        <b>{name}</b>
        <EditableText
          text={name}
          label="place"
          onChange={(next) => patchStop.mutate({ stopId: id, name: next }, failed)}
        />
        <span className="note">
          {state === 'done' ? '✓ done' : state}
          {lastAt && `, last noted ${moment(lastAt)}`}
        </span>
        <button type="button" className="plain" aria-label={`Leave out ${name}`} onClick={remove}>
          Leave out
        </button>
      </div>
      <div className="stop-settings">
        <label className="find">
          In the library
          <select
            aria-label={`${name} in the library`}
            value={placeId ?? ''}
            onChange={(event) =>
              patchStop.mutate({ stopId: id, placeId: event.target.value || null }, failed)
            }
          >
            <option value="">no such place</option>
            {places.map(({ place }) => (
              <option key={place.id} value={place.id}>
                {place.name}
              </option>
            ))}
          </select>
        </label>
        <label className="find trust">
          Trust
          <input
            type="range"
            aria-label={`Trust in ${name}`}
            aria-valuetext={`${percent} %`}
            min={0}
            max={1}
            step={0.05}
            value={draft ?? trust}
            onChange={(event) => setDraft(Number(event.target.value))}
            onPointerUp={keep}
            onKeyUp={keep}
            onBlur={keep}
          />
          <output className="num">{percent} %</output>
        </label>
      </div>
      {notes > 0 && (
        <ul className="noted">
          {references.map((taps, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: references stay in their order
            <li key={i}>
              <span className="note">{walk.references[i]?.name}:</span> {tapsWords(taps)}
            </li>
          ))}
          <li>
            <b>The song:</b> {tapsWords(song)}
          </li>
        </ul>
      )}
      {notes > 0 && <History walk={walk} stop={stop} />}
    </li>
  );
}

function History({ walk, stop }: { walk: WalkDetail; stop: Stop }) {
  const [open, setOpen] = useState(false);
  const history = useWalkHistory(walk.id, stop.id, open);
  const subject = (of: 'song' | number | null) =>
    of === null ? 'the place' : of === 'song' ? 'the song' : (walk.references[of]?.name ?? 'a reference');
  const value = (what: string, of: number | string | null) => {
    if (of === null) return `${what}: taken back`;
    if (what === 'words') return `“${of}”`;
    if (what === 'trust') return `trust ${Math.round(100 * Number(of))} %`;
    return tapWords(what as Parameters<typeof tapWords>[0], Number(of));
  };
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary className="note">Every note there was ({stop.notes})</summary>
      {open && (
        <ul className="noted num">
          {(history.data ?? []).map((note, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: notes have no name of their own here, and never move
            <li key={i} className={note.counts ? undefined : 'earlier'}>
              {moment(note.at)}: {subject(note.subject)}, {value(note.what, note.value)}
              {note.counts ? '' : ' (a later one counts)'}{' '}
              <span className="note">from {note.device.slice(0, 4)}</span>
            </li>
          ))}
        </ul>
      )}
    </details>
  );
}
