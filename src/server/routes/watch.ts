import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { WatchState } from '../../bench/watch/watched-folders.ts';
import type { App } from '../app-type.ts';
import { folderSchema, type Watch, watchSchema } from '../keeping-api.ts';

export function watchRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/watch',
    { schema: { summary: 'Watched folders, and what came in', response: { 200: watchSchema } } },
    async () => answer(await bench.watched.state()),
  );

  app.get(
    '/api/watch/folders',
    {
      schema: {
        summary: 'Folders that may be chosen, below the user’s home or below one of them',
        querystring: z.object({ inside: z.string().max(40).optional() }),
        response: { 200: z.object({ folders: z.array(folderSchema) }) },
      },
    },
    async ({ query }) => ({ folders: await bench.folders.inside(query.inside) }),
  );

  app.post(
    '/api/watch',
    {
      schema: {
        summary: 'Watch a folder from now on',
        body: z.object({ folder: z.string().max(40) }),
        response: { 200: watchSchema },
      },
    },
    async ({ body }) => answer(await bench.watched.add(await bench.folders.resolve(body.folder))),
  );

  app.delete(
    '/api/watch/:watchId',
    {
      schema: {
        summary: 'Watch a folder no longer; what came from it stays',
        params: z.object({ watchId: z.string() }),
        response: { 200: watchSchema },
      },
    },
    async ({ params }) => answer(await bench.watched.remove(params.watchId)),
  );
}

function answer({ folders, arrivals }: WatchState): Watch {
  return {
    folders: [...folders],
    arrivals: arrivals.map((arrival) => ({ ...arrival, lines: [...arrival.lines] })),
  };
}
