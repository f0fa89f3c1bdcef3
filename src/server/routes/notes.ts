import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { App } from '../app-type.ts';
import { newNote, notePatch, noteSchema } from '../keeping-api.ts';

const ofVersion = z.object({ versionId: z.string() });
const params = z.object({ noteId: z.string() });

export function noteRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/versions/:versionId/notes',
    {
      schema: {
        summary: 'Notes on a version by time, those carried from earlier versions included',
        params: ofVersion,
        response: { 200: z.object({ notes: z.array(noteSchema) }) },
      },
    },
    async ({ params }) => ({
      notes: await bench.notes.of(await bench.songs.getVersion(params.versionId)),
    }),
  );

  app.post(
    '/api/versions/:versionId/notes',
    { schema: { summary: 'Write a note', params: ofVersion, body: newNote, response: { 201: noteSchema } } },
    async ({ params, body }, reply) => {
      const version = await bench.songs.getVersion(params.versionId);
      return reply.code(201).send(await bench.notes.write(version, body, body.text));
    },
  );

  app.patch(
    '/api/notes/:noteId',
    {
      schema: {
        summary: 'Change a note; its place and whether it is done, on the version given',
        params,
        querystring: z.object({ version: z.string().optional() }),
        body: notePatch,
        response: { 200: noteSchema },
      },
    },
    ({ params, query, body }) => bench.notes.change(params.noteId, query.version, body),
  );

  app.delete(
    '/api/notes/:noteId',
    { schema: { summary: 'Delete a note; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await bench.notes.delete(params.noteId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/notes/:noteId/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: noteSchema } } },
    ({ params }) => bench.notes.restore(params.noteId),
  );
}
