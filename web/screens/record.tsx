import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { RecordDetail, RecordPlan } from '../../src/server/records-api.ts';
import { useRecord, useRecordChanges, useRecordMaking, useRecordPlan } from '../api/record-queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { offerUndo, say } from '../parts/toasts.tsx';
import { Delivering } from '../record/delivering.tsx';
import { ChoiceField, TextField } from '../record/fields.tsx';
import { FigureRows } from '../record/figure-rows.tsx';
import { ordered, SongOrder } from '../record/song-order.tsx';
import { SongSheet } from '../record/song-sheet.tsx';
import { kindWords } from '../record/words.ts';
import { clock, count } from '../words/figures.ts';

type Record = RecordDetail['record'];

/** One record: its songs in order, its words, how the songs stand beside each other, and delivering it. */
export function RecordScreen({ id }: { id: string }) {
  const detail = useRecord(id);
  useTitle(detail.data ? detail.data.record.title : 'Record');
  if (detail.isError && !detail.data)
    return <Unanswered error={detail.error} retry={() => void detail.refetch()} />;
  if (!detail.data) return <Message title="Reading the record…" />;
  return <Loaded detail={detail.data} />;
}

function Loaded({ detail }: { detail: RecordDetail }) {
  const { record } = detail;
  const { put } = useRecordChanges(detail.id);
  const plan = useRecordPlan(detail.id, detail.changedAt);
  const [chosen, setChosen] = useState(0);
  const change = (next: Record) => put.mutate(next, { onError: (error) => say(error.message) });
  const at = Math.min(chosen, record.songs.length - 1);
  const remove = (index: number) => {
    const title = record.songs[index]?.title ?? '';
    change(ordered(record, [...record.songs.keys()].toSpliced(index, 1)));
    offerUndo(`“${title}” is off the record; its versions stay on the bench.`, () => change(record));
  };
  return (
    <div className="sheet">
      <Opening detail={detail} plan={plan.data} onChange={change} />
      <section className="entry" aria-labelledby="songs">
        <div className="margin">
          <p className="note">
            Drag a song by its handle, or press Enter on it and use the arrow keys. Silence before a song ends
            the file of the song before it, so that files played in a row are the record.
          </p>
        </div>
        <div className="body">
          <h2 id="songs">{count(record.songs.length, 'song')} in order</h2>
          <SongOrder
            detail={detail}
            plan={plan.data}
            chosen={at}
            onChoose={setChosen}
            onChange={(next, to) => {
              setChosen(to);
              change(next);
            }}
          />
          <SongSheet
            key={`${at} ${detail.songs[at]?.versionId}`}
            detail={detail}
            index={at}
            onChange={(next, to) => {
              setChosen(to);
              change(next);
            }}
            onRemove={remove}
          />
        </div>
      </section>
      <section className="entry" aria-labelledby="beside">
        <div className="margin">
          <p className="note">
            Each number is a song. The tick is the middle of the record, the thick line what is usual around
            it (set by this project). Differences may be meant.
          </p>
        </div>
        <div className="body">
          <h2 id="beside">Songs beside each other</h2>
          {plan.isPending && <p className="note">Measuring what was not measured yet…</p>}
          {plan.isError && <p className="sentence">{plan.error.message}</p>}
          {plan.data && (
            <>
              <FigureRows figures={plan.data.figures} titles={record.songs.map(({ title }) => title)} />
              {plan.data.sentences.map((sentence) => (
                <p key={sentence} className="sentence">
                  {sentence}
                </p>
              ))}
            </>
          )}
        </div>
      </section>
      <section className="entry" aria-labelledby="words">
        <div className="margin">
          <p className="note">Written into every file that can carry it, and onto the paper.</p>
        </div>
        <div className="body">
          <h2 id="words">Words</h2>
          <Words detail={detail} onChange={change} />
        </div>
      </section>
      <section className="entry" aria-labelledby="delivering">
        <div className="margin">
          <p className="note">
            Every file is made, read back from the disk and held against its contract. Only when all is met do
            files get their names; the checksums are written last.
          </p>
        </div>
        <div className="body">
          <h2 id="delivering">Delivering</h2>
          <Delivering detail={detail} plan={plan.data} onChange={change} />
        </div>
      </section>
    </div>
  );
}

function Opening({
  detail,
  plan,
  onChange,
}: {
  detail: RecordDetail;
  plan: RecordPlan | undefined;
  onChange: (record: Record) => void;
}) {
  const { id, record } = detail;
  const { remove, restore } = useRecordMaking();
  const [, go] = useLocation();
  const drop = () => {
    go('/records');
    remove.mutateAsync(id).then(
      () => offerUndo(`The record “${record.title}” was deleted.`, () => restore.mutate(id)),
      (error: Error) => say(error.message),
    );
  };
  return (
    <div className="entry opening">
      <div className="margin">
        <nav className="note" aria-label="Where this is">
          <Link href="/records">Records</Link> / {record.title}
        </nav>
        <button type="button" className="plain" onClick={drop}>
          Delete this record
        </button>
      </div>
      <div className="body">
        <h1 className="headline with-action">
          {record.title}{' '}
          <EditableText
            text={record.title}
            label="record"
            onChange={(title) => onChange({ ...record, title })}
          />
        </h1>
        <p className="sentence">
          {record.artist}, {kindWords[record.kind]}
          {plan && plan.seconds > 0 && (
            <>
              , <span className="num">{clock(plan.seconds)}</span>
            </>
          )}
          .{plan && plan.open > 0 && ` ${count(plan.open, 'thing')} to mend before it can be delivered.`}
        </p>
      </div>
    </div>
  );
}

function Words({ detail, onChange }: { detail: RecordDetail; onChange: (record: Record) => void }) {
  const { record, artwork } = detail;
  const { artwork: send, dropArtwork } = useRecordChanges(detail.id);
  const wrong = (error: Error) => say(error.message);
  const set = (patch: Partial<Record>) => onChange({ ...record, ...patch });
  return (
    <>
      <div className="field-grid">
        <TextField
          label="Artist"
          value={record.artist}
          onChange={(artist) => artist.trim() !== '' && set({ artist })}
        />
        <ChoiceField
          label="Kind"
          value={record.kind}
          choices={kindWords}
          onChange={(kind) => set({ kind })}
        />
        <TextField label="UPC or EAN" value={record.barcode} onChange={(barcode) => set({ barcode })} />
        <TextField
          label="Catalogue number"
          value={record.catalogNumber}
          onChange={(catalogNumber) => set({ catalogNumber })}
        />
        <TextField label="Label" value={record.label} onChange={(label) => set({ label })} />
        <TextField label="Genre" value={record.genre} onChange={(genre) => set({ genre })} />
        <TextField
          label="Language"
          note="a code: en, pt-BR"
          value={record.language}
          onChange={(language) => set({ language })}
        />
        <TextField label="Copyright" value={record.copyright} onChange={(copyright) => set({ copyright })} />
        <TextField
          label="Release date"
          note="2026-11-27"
          value={record.releaseDate}
          onChange={(releaseDate) => set({ releaseDate })}
        />
        <TextField
          label="Names of files"
          note="{track}, {title}, {artist}, {album}, {isrc}, {side}"
          value={record.naming}
          onChange={(naming) => naming.trim() !== '' && set({ naming })}
        />
      </div>
      <div className="act-line">
        <label className="artwork">
          {artwork ? `Artwork: ${artwork.name}` : 'Artwork, JPEG or PNG'}
          <input
            type="file"
            accept="image/jpeg,image/png"
            onChange={(event) => {
              const file = event.target.files?.[0];
              if (file) send.mutate(file, { onError: wrong });
              event.target.value = '';
            }}
          />
        </label>
        {artwork && (
          <button
            type="button"
            className="plain"
            onClick={() => dropArtwork.mutate(undefined, { onError: wrong })}
          >
            Take the artwork away
          </button>
        )}
      </div>
    </>
  );
}
