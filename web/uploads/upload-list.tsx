import { Button, ProgressBar } from 'react-aria-components';
import { bytes } from '../words/figures.ts';
import type { Destination } from './send.ts';
import { useUploadQueue, useUploads } from './uploads.tsx';

/** How many files on their way are listed; the rest are counted. */
const shown = 12;

/** The files on their way to this place (a song, a set, or the bench), each with its progress and a way to stop it. */
export function UploadList({ songId, setId }: Destination) {
  const queue = useUploadQueue();
  const uploads = useUploads().filter(({ to }) => to.songId === songId && to.setId === setId);
  // Failures first: they wait for a person, the others move on by themselves.
  const ordered = [
    ...uploads.filter((u) => u.state === 'failed'),
    ...uploads.filter((u) => u.state !== 'failed'),
  ];
  const rest = ordered.length - shown;
  return (
    <section aria-label="Files on their way" aria-live="polite" className="uploads">
      <ul>
        {ordered.slice(0, shown).map((upload) => (
          <li key={upload.id} className={upload.state === 'failed' ? 'upload failed' : 'upload'}>
            <div className="upload-words">
              <span className="upload-name">{upload.name}</span>
              {upload.state === 'failed' ? (
                <p role="alert" className="sentence">
                  {upload.message}
                </p>
              ) : (
                <ProgressBar
                  aria-label={`Sending ${upload.name}`}
                  value={upload.sentBytes}
                  maxValue={Math.max(1, upload.bytes)}
                  className="progress"
                >
                  {({ percentage }) => (
                    <>
                      <div className="bar">
                        <div style={{ width: `${percentage}%` }} />
                      </div>
                      <span className="note">
                        {upload.state === 'waiting'
                          ? `waiting, ${bytes(upload.bytes)}`
                          : `${bytes(upload.sentBytes)} of ${bytes(upload.bytes)}`}
                      </span>
                    </>
                  )}
                </ProgressBar>
              )}
            </div>
            <Button
              className="plain"
              aria-label={`${upload.state === 'failed' ? 'Dismiss' : 'Cancel'} ${upload.name}`}
              onPress={() => queue.dismiss(upload.id)}
            >
              {upload.state === 'failed' ? 'Dismiss' : 'Cancel'}
            </Button>
          </li>
        ))}
      </ul>
      {rest > 0 && <p className="note">and {rest} more</p>}
    </section>
  );
}
