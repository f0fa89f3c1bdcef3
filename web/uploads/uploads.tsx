import { type QueryClient, useQueryClient } from '@tanstack/react-query';
import { createContext, type ReactNode, useContext, useRef, useState, useSyncExternalStore } from 'react';
import { useLocation } from 'wouter';
import { keys, takeSetsChanged, takeSongsChanged } from '../api/cache.ts';
import { call } from '../api/client.ts';
import { say } from '../parts/toasts.tsx';
import { UploadQueue } from './upload-queue.ts';

const QueueContext = createContext<UploadQueue | null>(null);

/** Holds the one queue of the page. A single file dropped on the bench or on a verdict leads to its own verdict; several stay listed. */
export function UploadsProvider({ children }: { children: ReactNode }) {
  const queries = useQueryClient();
  const [path, go] = useLocation();
  const place = useRef({ path, go });
  place.current = { path, go };
  const [queue] = useState(
    () =>
      new UploadQueue(({ song, version }, { setId }, alone) => {
        queries.setQueryData(keys.song(song.id), song);
        takeSongsChanged(queries);
        if (setId) void takeIntoSet(queries, setId, version.id).catch((error: Error) => say(error.message));
        else if (alone && !place.current.path.startsWith('/songs/'))
          place.current.go(`/versions/${version.id}`);
      }),
  );
  return <QueueContext value={queue}>{children}</QueueContext>;
}

/** A file dropped on a set has arrived: it becomes one of its records. */
async function takeIntoSet(queries: QueryClient, setId: string, versionId: string): Promise<void> {
  await call('PUT', `/sets/${setId}/members/${versionId}`);
  takeSetsChanged(queries);
}

export function useUploadQueue(): UploadQueue {
  const queue = useContext(QueueContext);
  if (!queue) throw new Error('useUploadQueue outside UploadsProvider');
  return queue;
}

export function useUploads() {
  const queue = useUploadQueue();
  return useSyncExternalStore(queue.subscribe, queue.snapshot);
}
