import { useState } from 'react';
import { Link, useLocation } from 'wouter';
import type { Song } from '../../src/server/api.ts';
import { useSongs } from '../api/queries.ts';
import { useRecordMaking, useRecords } from '../api/record-queries.ts';
import { Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { kindWords } from '../record/words.ts';
import { count } from '../words/figures.ts';

/** Every record, and making one of songs on the bench. */
export function RecordsScreen() {
  const records = useRecords();
  const songs = useSongs();
  useTitle('Records');
  if (records.isError && !records.data)
    return <Unanswered error={records.error} retry={() => void records.refetch()} />;
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            A record is songs in an order, how they meet, and the words that go with them.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">
            Put songs in order and deliver them: files, cue sheet, paper, and proof.
          </h1>
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">
          {records.isPending && <p className="note">Reading the records…</p>}
          {records.data && records.data.length > 0 && (
            <ul className="plain-list record-list">
              {records.data.map(({ id, title, artist, kind, songs: songCount }) => (
                <li key={id}>
                  <Link href={`/records/${id}`}>{title}</Link>{' '}
                  <span className="note">
                    {artist}, {kindWords[kind]}, {count(songCount, 'song')}
                  </span>
                </li>
              ))}
            </ul>
          )}
          {records.data?.length === 0 && <p className="sentence">There is no record yet.</p>}
          {songs.data && <NewRecord songs={songs.data} />}
        </div>
      </div>
    </div>
  );
}

/** The version of a song that is likeliest meant: its newest master, or its newest file. */
const likeliest = ({ versions }: Song) =>
  [...versions].reverse().find(({ kind }) => kind === 'master') ?? versions.at(-1);

function NewRecord({ songs }: { songs: readonly Song[] }) {
  const { make } = useRecordMaking();
  const [, go] = useLocation();
  const [title, setTitle] = useState('');
  const [artist, setArtist] = useState('');
  const [kind, setKind] = useState<keyof typeof kindWords>('album');
  const [chosen, setChosen] = useState<readonly string[]>([]);
  const offered = songs.flatMap((song) => {
    const version = likeliest(song);
    return version && version.kind !== 'reference' ? [{ song, version }] : [];
  });
  if (offered.length === 0)
    return (
      <p className="sentence">
        Bring songs onto the <Link href="/">bench</Link> first; then they can be put in order here.
      </p>
    );
  const ready = title.trim() !== '' && artist.trim() !== '' && chosen.length > 0;
  const submit = () =>
    make.mutate(
      { title, artist, kind, versionIds: [...chosen] },
      { onSuccess: ({ id }) => go(`/records/${id}`), onError: (error) => say(error.message) },
    );
  return (
    <form
      className="record-form"
      aria-labelledby="new-record"
      onSubmit={(event) => {
        event.preventDefault();
        if (ready) submit();
      }}
    >
      <h2 id="new-record">A new record</h2>
      <div className="field-grid">
        <label>
          Title
          <input maxLength={200} value={title} onChange={(event) => setTitle(event.target.value)} />
        </label>
        <label>
          Artist
          <input maxLength={200} value={artist} onChange={(event) => setArtist(event.target.value)} />
        </label>
        <label>
          Kind
          <select value={kind} onChange={(event) => setKind(event.target.value as keyof typeof kindWords)}>
            {Object.entries(kindWords).map(([id, word]) => (
              <option key={id} value={id}>
                {word}
              </option>
            ))}
          </select>
        </label>
      </div>
      <fieldset className="picks">
        <legend className="note">Songs, in the order in which they are marked</legend>
        {offered.map(({ song, version }) => {
          const place = chosen.indexOf(version.id);
          return (
            <label key={song.id} className="pick">
              <input
                type="checkbox"
                checked={place >= 0}
                onChange={() =>
                  setChosen(place >= 0 ? chosen.filter((id) => id !== version.id) : [...chosen, version.id])
                }
              />
              <span>
                {place >= 0 && <b className="num">{place + 1}. </b>}
                {song.title}
              </span>
              <span className="note">{version.name}</span>
            </label>
          );
        })}
      </fieldset>
      <button type="submit" className="primary" disabled={!ready || make.isPending}>
        Make the record
      </button>
      {!ready && <p className="note">It wants a title, an artist and at least one song.</p>}
    </form>
  );
}
