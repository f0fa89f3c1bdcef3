import { renderSVG } from 'uqr';
import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { WalkNow } from '../../bench/walk/walks.ts';
import type { App } from '../app-type.ts';
import type { Sharing } from '../sharing.ts';
import {
  historyNoteSchema,
  newStop,
  newWalk,
  stopPatch,
  type WalkDetail,
  type WalkSharing,
  type WalkSummary,
  walkDetailSchema,
  walkLinkRequest,
  walkLinkSchema,
  walkPatch,
  walkSharingRequest,
  walkSharingSchema,
  walkSummarySchema,
  walkTakenSchema,
} from '../walk-api.ts';
import { sendCarried } from './notebook.ts';

const params = z.object({ id: z.string() });
const stopParams = params.extend({ stopId: z.string() });
const detail = { 200: walkDetailSchema };
const usualHours = 72;

/** Walks: setting them up, and what goes to notebooks and comes back. */
export function walkRoutes(app: App, bench: Bench, sharing: Sharing): void {
  const { walks } = bench;
  const { notebooks } = walks;

  app.get(
    '/api/walks',
    {
      schema: {
        summary: 'All walks, or those of a song, newest first',
        querystring: z.object({ songId: z.string().optional() }),
        response: { 200: z.object({ walks: z.array(walkSummarySchema) }) },
      },
    },
    async ({ query }) => ({ walks: (await walks.list(query.songId)).map(summaryOf) }),
  );

  app.post(
    '/api/walks',
    { schema: { summary: 'Begin a walk', body: newWalk, response: { 201: walkDetailSchema } } },
    async ({ body }, reply) => reply.code(201).send(detailOf(await walks.make(body))),
  );

  app.get(
    '/api/walks/:id',
    { schema: { summary: 'One walk, with what counts now', params, response: detail } },
    async ({ params: { id } }) => detailOf(await walks.get(id)),
  );

  app.patch(
    '/api/walks/:id',
    {
      schema: { summary: 'Rename a walk, take other references', params, body: walkPatch, response: detail },
    },
    async ({ params: { id }, body }) => detailOf(await walks.change(id, body)),
  );

  app.delete(
    '/api/walks/:id',
    { schema: { summary: 'Delete a walk; it can be restored for a day', params } },
    async ({ params: { id } }, reply) => {
      await walks.delete(id);
      await sharing.off(id);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/walks/:id/restore',
    { schema: { summary: 'Take back a deletion', params, response: detail } },
    async ({ params: { id } }) => detailOf(await walks.restore(id)),
  );

  app.post(
    '/api/walks/:id/stops',
    { schema: { summary: 'Add a place', params, body: newStop, response: { 201: walkDetailSchema } } },
    async ({ params: { id }, body }, reply) => reply.code(201).send(detailOf(await walks.addStop(id, body))),
  );

  app.patch(
    '/api/walks/:id/stops/:stopId',
    {
      schema: { summary: 'Change a place of a walk', params: stopParams, body: stopPatch, response: detail },
    },
    async ({ params: { id, stopId }, body }) => detailOf(await walks.changeStop(id, stopId, body)),
  );

  app.delete(
    '/api/walks/:id/stops/:stopId',
    { schema: { summary: 'Leave a place out; its notes stay', params: stopParams, response: detail } },
    async ({ params: { id, stopId } }) => detailOf(await walks.deleteStop(id, stopId)),
  );

  app.post(
    '/api/walks/:id/stops/:stopId/restore',
    { schema: { summary: 'Take a place back in', params: stopParams, response: detail } },
    async ({ params: { id, stopId } }) => detailOf(await walks.restoreStop(id, stopId)),
  );

  app.get(
    '/api/walks/:id/history',
    {
      schema: {
        summary: 'Every note there ever was, newest first',
        params,
        querystring: z.object({ stopId: z.string().optional() }),
        response: { 200: z.object({ notes: z.array(historyNoteSchema) }) },
      },
    },
    async ({ params: { id }, query }) => ({
      notes: (await walks.history(id, query.stopId)).map((note) => ({
        stopId: note.stop,
        subject: note.what === 'trust' ? null : note.subject,
        what: note.what,
        value: note.value,
        at: note.at,
        device: note.device,
        counts: note.counts,
      })),
    }),
  );

  app.post(
    '/api/walks/:id/file',
    {
      bodyLimit: 1 << 21,
      schema: {
        summary: 'Take in the file of a notebook that was carried along; the body is the file',
        params,
        body: z.unknown(),
        response: { 200: walkTakenSchema },
      },
    },
    async ({ params: { id }, body }) => {
      const { taken, before } = await notebooks.takeFile(id, body);
      const notes = (n: number) => `${n} ${n === 1 ? 'note' : 'notes'}`;
      const sentences = [
        taken === 0 ? 'Every note in it was here already; nothing was added.' : `${notes(taken)} taken in.`,
        ...(taken > 0 && before > 0
          ? [`${notes(before)} ${before === 1 ? 'was' : 'were'} here already.`]
          : []),
      ];
      return { taken, before, sentences };
    },
  );

  app.post(
    '/api/walks/:id/page',
    { schema: { summary: 'The notebook with its sounds in one file, to be carried along', params } },
    async ({ params: { id } }, reply) => sendCarried(reply, await notebooks.carried(id, sharing.reach())),
  );

  app.post(
    '/api/walks/:id/links',
    {
      schema: {
        summary: 'A new link to the notebook; told once',
        params,
        body: walkLinkRequest,
        response: { 201: walkLinkSchema },
      },
    },
    async ({ params: { id }, body }, reply) => {
      const path = `/w/${await notebooks.link(id, body?.hours ?? usualHours)}`;
      const addresses = sharing.state.id === id ? sharing.state.addresses : [];
      return reply.code(201).send({
        path,
        links: addresses.map((address) => {
          const url = `${address}${path}`;
          return { url, qrSvg: renderSVG(url, { ecc: 'M', border: 2 }) };
        }),
      });
    },
  );

  app.delete(
    '/api/walks/:id/links',
    { schema: { summary: 'Withdraw every link and every page that was carried along', params } },
    async ({ params: { id } }, reply) => {
      await notebooks.withdraw(id);
      return reply.code(204).send();
    },
  );

  const shared = (): WalkSharing => {
    const { id: walkId, addresses, ...state } = sharing.state;
    return { ...state, walkId, addresses: [...addresses] };
  };

  app.get(
    '/api/walks/sharing',
    {
      schema: { summary: 'Which walk is shared in the local network', response: { 200: walkSharingSchema } },
    },
    async () => shared(),
  );

  app.put(
    '/api/walks/:id/sharing',
    {
      schema: {
        summary: 'Share a walk in the local network, or end it',
        params,
        body: walkSharingRequest,
        response: { 200: walkSharingSchema },
      },
    },
    async ({ params: { id }, body }) => {
      await (body.on ? sharing.on(id, body.hours) : sharing.off(id));
      return shared();
    },
  );
}

function summaryOf({ id, songId, version, title, createdAt, stops }: WalkNow): WalkSummary {
  return {
    id,
    songId,
    versionId: version.id,
    versionName: version.name,
    title,
    createdAt,
    stops: stops.length,
    heard: stops.filter(({ song }) => Object.keys(song.scales).length > 0).length,
  };
}

function detailOf(walk: WalkNow): WalkDetail {
  const { stops: _, heard: __, ...summary } = summaryOf(walk);
  return {
    ...summary,
    songTitle: walk.songTitle,
    references: walk.references.map(({ versionId, name, songTitle }) => ({ versionId, name, songTitle })),
    stops: walk.stops.map((stop) => ({
      ...stop,
      references: [...stop.references],
      state: stateOf(stop),
    })),
    links: walk.links,
  };
}

/** Done: something of every reference, and each of the five areas of the song, is tapped. */
function stateOf({ song, references }: WalkNow['stops'][number]): WalkDetail['stops'][number]['state'] {
  const tapped = (scales: object) => Object.keys(scales).length;
  const areas = ['low', 'lowMid', 'mid', 'presence', 'air'] as const;
  const heard = references.every(({ scales }) => tapped(scales) > 0);
  if (tapped(song.scales) === 0)
    return references.some(({ scales }) => tapped(scales) > 0)
      ? heard
        ? 'references heard'
        : 'begun'
      : 'to do';
  return heard && areas.every((area) => song.scales[area] !== undefined) ? 'done' : 'begun';
}
