import { useRef, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { ShootoutEntry } from '../../src/server/shootout-api.ts';
import { ApiFailure } from '../api/client.ts';
import { useWindowDrop, Veil } from '../uploads/drop-place.tsx';
import { sendBytes } from '../uploads/send.ts';
import { bytes } from '../words/figures.ts';

/** A file that came back from a maker, before it takes part. */
interface Returned {
  readonly key: number;
  readonly file: File | null;
  readonly name: string;
  readonly maker: string;
  readonly state: 'asking' | 'sending' | 'comparing' | 'refused';
  readonly sentBytes: number;
  readonly reason: string;
}

/** The maker's name, as far as a file's tells: without its ending. */
const guessed = (name: string) => name.replace(/\.[^.]+$/, '').replaceAll('_', ' ');

/** Takes files that came back: each is named after its maker, laid over the mix, and taken or refused with the reason. */
export function Incoming({ shootoutId }: { shootoutId: string }) {
  const [returned, setReturned] = useState<readonly Returned[]>([]);
  const nextKey = useRef(1);
  const patch = (key: number, change: Partial<Returned>) =>
    setReturned((all) => all.map((each) => (each.key === key ? { ...each, ...change } : each)));
  const drop = (key: number) => setReturned((all) => all.filter((each) => each.key !== key));
  const add = (name: string, file: File | null, reason = '') =>
    setReturned((all) => [
      ...all,
      {
        key: nextKey.current++,
        file,
        name,
        maker: guessed(name),
        state: file ? 'asking' : 'refused',
        sentBytes: 0,
        reason,
      },
    ]);
  const over = useWindowDrop(
    (files) => {
      for (const file of files) add(file.name, file);
    },
    (name, message) => add(name, null, message),
  );
  const send = ({ key, file, maker }: Returned) => {
    if (!file) return;
    patch(key, { state: 'sending', sentBytes: 0 });
    const query = new URLSearchParams({ name: file.name, maker: maker.trim() });
    sendBytes<ShootoutEntry>(
      `/shootouts/${shootoutId}/entries?${query}`,
      file,
      (sentBytes) => patch(key, { sentBytes, state: sentBytes >= file.size ? 'comparing' : 'sending' }),
      new AbortController().signal,
    ).then(
      () => drop(key),
      (error: unknown) =>
        patch(key, { state: 'refused', reason: error instanceof ApiFailure ? error.message : String(error) }),
    );
  };
  return (
    <>
      <div className={over ? 'drop-place over' : 'drop-place'}>
        <p className="drop-label">{over ? 'Let go to bring it in' : 'Drop the masters that came back'}</p>
        <FileTrigger
          allowsMultiple
          onSelect={(files) => {
            for (const file of [...(files ?? [])]) add(file.name, file);
          }}
        >
          <Button className="primary">Choose files…</Button>
        </FileTrigger>
        <p className="note">
          Each is laid over the mix; another song is refused. Makers stay hidden from voters.
        </p>
      </div>
      {over && <Veil />}
      <ul aria-label="Files that came back" aria-live="polite" className="incoming">
        {returned.map((each) => (
          <li key={each.key} className={each.state === 'refused' ? 'upload failed' : 'upload'}>
            <div className="upload-words">
              <span className="upload-name">{each.name}</span>
              {each.state === 'asking' && (
                <form
                  className="maker-form"
                  onSubmit={(event) => {
                    event.preventDefault();
                    send(each);
                  }}
                >
                  <label className="find">
                    Made by
                    <input
                      required
                      maxLength={200}
                      value={each.maker}
                      onChange={(event) => patch(each.key, { maker: event.target.value })}
                    />
                  </label>
                  <button type="submit" className="secondary">
                    Take it in
                  </button>
                </form>
              )}
              {each.state === 'sending' && (
                <p className="note">
                  {bytes(each.sentBytes)} of {bytes(each.file?.size ?? 0)}
                </p>
              )}
              {each.state === 'comparing' && (
                <p className="note">Laying it over the mix; this takes some seconds…</p>
              )}
              {each.state === 'refused' && (
                <p role="alert" className="sentence">
                  {each.reason}
                </p>
              )}
            </div>
            {(each.state === 'asking' || each.state === 'refused') && (
              <button
                type="button"
                className="plain"
                aria-label={`Dismiss ${each.name}`}
                onClick={() => drop(each.key)}
              >
                Dismiss
              </button>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}
