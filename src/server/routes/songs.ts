import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { songPatch, songSchema } from '../api.ts';
import type { App } from '../app-type.ts';

const params = z.object({ songId: z.string() });

export function songRoutes(app: App, bench: Bench): void {
  const songs = z.object({ songs: z.array(songSchema) });

  app.get(
    '/api/songs',
    { schema: { summary: 'All songs, newest change first', response: { 200: songs } } },
    async () => ({
      songs: await bench.songs.list(),
    }),
  );

  app.get(
    '/api/songs/:songId',
    { schema: { summary: 'One song', params, response: { 200: songSchema } } },
    ({ params }) => bench.songs.get(params.songId),
  );

  app.patch(
    '/api/songs/:songId',
    { schema: { summary: 'Rename a song', params, body: songPatch, response: { 200: songSchema } } },
    ({ params, body }) => bench.renameSong(params.songId, body.title),
  );

  app.delete(
    '/api/songs/:songId',
    { schema: { summary: 'Delete a song; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await bench.deleteSong(params.songId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/songs/:songId/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: songSchema } } },
    ({ params }) => bench.restoreSong(params.songId),
  );

  app.post(
    '/api/demo',
    { schema: { summary: 'Put the demo record on the bench, once', response: { 200: songs } } },
    async () => ({ songs: await bench.putDemoOnBench() }),
  );
}
