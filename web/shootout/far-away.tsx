import { useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { useShootoutChanges } from '../api/shootout-queries.ts';
import { FolderDialog } from '../parts/folder-dialog.tsx';
import { say } from '../parts/toasts.tsx';
import { useWindowDrop, Veil } from '../uploads/drop-place.tsx';
import { WrittenFiles } from './written-files.tsx';

/** Larger files are no vote files, bytes. */
const mostBytes = 500_000;

/** Listeners who are not on this network: a folder goes out, one small file comes back. */
export function FarAway({ shootout: { id } }: { shootout: ShootoutDetail }) {
  const { writeFolder, takeVotes } = useShootoutChanges(id);
  const [name, setName] = useState('');
  const [choosing, setChoosing] = useState(false);
  const [trouble, setTrouble] = useState('');

  const take = async (files: readonly File[]) => {
    setTrouble('');
    for (const file of files) {
      try {
        if (file.size > mostBytes) throw new Error(`${file.name} is no vote file: it is far too large.`);
        await takeVotes.mutateAsync(parsed(await file.text(), file.name));
      } catch (error) {
        setTrouble(error instanceof Error ? error.message : String(error));
      }
    }
  };
  const over = useWindowDrop(
    (files) => void take(files),
    (_name, message) => setTrouble(message),
  );
  return (
    <section aria-labelledby="far-away" className={over ? 'far-away over' : 'far-away'}>
      <h3 id="far-away">Far away</h3>
      <p className="sentence">
        A folder with one page and the sounds. It opens from disk with no server, and gives back one small
        signed file: drop that anywhere on this page.
      </p>
      <form
        className="act-line"
        onSubmit={(event) => {
          event.preventDefault();
          setTrouble('');
          if (name.trim() !== '') setChoosing(true);
        }}
      >
        <label className="find">
          Listener
          <input maxLength={100} value={name} onChange={(event) => setName(event.target.value)} />
        </label>
        <button type="submit" className="secondary" disabled={name.trim() === ''}>
          Write a folder…
        </button>
        <FileTrigger
          acceptedFileTypes={['.json']}
          allowsMultiple
          onSelect={(files) => void take([...(files ?? [])])}
        >
          <Button className="secondary">Take in a vote file…</Button>
        </FileTrigger>
      </form>
      {writeFolder.data && <WrittenFiles written={writeFolder.data} />}
      <div role="status">
        {takeVotes.data && trouble === '' && (
          <p className="sentence">✓ {takeVotes.data.sentences.join(' ')}</p>
        )}
      </div>
      {trouble !== '' && (
        <p role="alert" className="sentence refusal">
          {trouble}
        </p>
      )}
      {choosing && (
        <FolderDialog
          act="Write into"
          waiting={writeFolder.isPending}
          onChosen={({ token }) =>
            writeFolder.mutate(
              { name, folder: token },
              {
                onSuccess: () => {
                  setChoosing(false);
                  setName('');
                },
                onError: (error) => say(error.message),
              },
            )
          }
          onClose={() => setChoosing(false)}
        />
      )}
      {over && <Veil />}
    </section>
  );
}

function parsed(text: string, name: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw new Error(`${name} is no vote file.`);
  }
}
