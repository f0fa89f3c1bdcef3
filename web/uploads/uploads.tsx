import { useQueryClient } from '@tanstack/react-query';
import { createContext, type ReactNode, useContext, useRef, useState, useSyncExternalStore } from 'react';
import { useLocation } from 'wouter';
import { keys, takeSongsChanged } from '../api/cache.ts';
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
      new UploadQueue(({ song, version }, alone) => {
        queries.setQueryData(keys.song(song.id), song);
        takeSongsChanged(queries);
        if (alone && !place.current.path.startsWith('/songs/')) place.current.go(`/versions/${version.id}`);
      }),
  );
  return <QueueContext value={queue}>{children}</QueueContext>;
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
