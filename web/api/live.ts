import { type QueryClient, useQueryClient } from '@tanstack/react-query';
import { useEffect, useState } from 'react';
import type { Job } from '../../src/server/api.ts';
import {
  keys,
  takeChain,
  takeDesk,
  takeJob,
  takePlaces,
  takeRecord,
  takeShootout,
  takeSongsChanged,
  takeSurvival,
  takeWalk,
} from './cache.ts';

/** Whether the server can be heard. 'lost' until it answers again; the page then catches up by itself. */
export type Link = 'connecting' | 'live' | 'lost';

/** Answers that stay as they are: what they are made of is part of their name. */
const lasting = new Set([
  'traces',
  'match',
  'shootout-plan',
  'sweep',
  'chain-step',
  'chain-loudness',
  'chain-look',
  'ceiling-steps',
]);

/** Milliseconds between two attempts to reach a server that went away. */
const retryEvery = 1500;

/** Keeps one stream of events open for the whole page and writes what it says into the kept answers. */
export function useLive(): Link {
  const queries = useQueryClient();
  const [link, setLink] = useState<Link>('connecting');
  useEffect(() => listen(queries, setLink), [queries]);
  return link;
}

function listen(queries: QueryClient, tell: (link: Link) => void): () => void {
  let source: EventSource | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const open = () => {
    source = new EventSource('/api/events');
    source.addEventListener('open', () => {
      tell('live');
      // Whatever happened while nobody listened is asked for now; so is what was answered before the first event.
      void queries.invalidateQueries({
        predicate: ({ queryKey: [kind] }) => typeof kind !== 'string' || !lasting.has(kind),
      });
    });
    source.addEventListener('job', (event) => takeJob(queries, JSON.parse(event.data) as Job));
    source.addEventListener('songs', () => takeSongsChanged(queries));
    source.addEventListener('survive', (event) =>
      takeSurvival(queries, (JSON.parse(event.data) as { versionId: string }).versionId),
    );
    source.addEventListener('desk', (event) =>
      takeDesk(queries, JSON.parse(event.data) as { songId?: string; what?: string }),
    );
    source.addEventListener('shootout', (event) =>
      takeShootout(queries, (JSON.parse(event.data) as { shootoutId: string }).shootoutId),
    );
    source.addEventListener('places', (event) =>
      takePlaces(queries, JSON.parse(event.data) as { versionId?: string; measuringId?: string }),
    );
    source.addEventListener('walk', (event) =>
      takeWalk(queries, (JSON.parse(event.data) as { walkId: string }).walkId),
    );
    source.addEventListener('chain', (event) =>
      takeChain(queries, JSON.parse(event.data) as { chainId: string; songId: string }),
    );
    source.addEventListener(
      'finish',
      (event) =>
        void queries.invalidateQueries({
          queryKey: keys.finishing((JSON.parse(event.data) as { versionId: string }).versionId),
        }),
    );
    source.addEventListener('record', (event) =>
      takeRecord(queries, (JSON.parse(event.data) as { recordId: string | null }).recordId),
    );
    source.addEventListener('error', () => {
      // The browser's own retry gives up on some answers; opening anew never does.
      source?.close();
      tell('lost');
      timer = setTimeout(open, retryEvery);
    });
  };
  open();
  // Leaving the page closes the stream, which is not a lost server.
  const leave = () => source?.close();
  window.addEventListener('pagehide', leave);
  return () => {
    window.removeEventListener('pagehide', leave);
    clearTimeout(timer);
    source?.close();
  };
}
