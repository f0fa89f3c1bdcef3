import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { wavHeader } from '../../audio/encode-wav.ts';
import { frameCount } from '../../audio/pcm.ts';
import { encodeSamples } from '../../audio/sample-coding.ts';
import type { Bench } from '../../bench/bench.ts';
import type { KnownPlace } from '../../bench/places/library.ts';
import { placesReportHtml } from '../../deliver/places-html.ts';
import { placeSources } from '../../judge/place-sources.ts';
import { aboutSweep } from '../../judge/sweep-words.ts';
import { makeSweep, planSweep } from '../../places/sweep.ts';
import { jobSchema } from '../api.ts';
import type { App } from '../app-type.ts';
import { reportPolicy } from '../headers.ts';
import {
  newPlace,
  type PlaceEntry,
  placeCopy,
  placeEntrySchema,
  placePatch,
  placesRequest,
  songPlacesSchema,
  sweepAboutSchema,
  sweepQuery,
} from '../places-api.ts';

const params = z.object({ placeId: z.string().max(100) });
const versionParams = z.object({ versionId: z.string() });

/** The library of places, a version in them, and the sweep to measure one with. */
export function placeRoutes(app: App, bench: Bench): void {
  const { library } = bench.places;

  app.get(
    '/api/places',
    {
      schema: {
        summary: 'All places: those that come with the program, then the user’s own',
        response: { 200: z.object({ places: z.array(placeEntrySchema) }) },
      },
    },
    async () => ({ places: (await library.list()).map(entryOfPlace) }),
  );

  app.post(
    '/api/places',
    { schema: { summary: 'Make a place', body: newPlace, response: { 201: placeEntrySchema } } },
    async ({ body }, reply) => reply.code(201).send(entryOfPlace(await library.make(body))),
  );

  app.get(
    '/api/places/sweep',
    {
      schema: {
        summary: 'What the measuring sweep is, and what to be careful of',
        querystring: sweepQuery,
        response: { 200: sweepAboutSchema },
      },
    },
    async ({ query }) => aboutSweep(query),
  );

  app.get(
    '/api/places/sweep.wav',
    { schema: { summary: 'The measuring sweep (audio/wav, 24 bits)', querystring: sweepQuery } },
    async ({ query: { rate, ...choice } }, reply) => {
      if (rate < 2.1 * choice.toHz)
        throw new CodedError(
          'REQUEST_INVALID',
          `A sweep to ${choice.toHz} Hz needs a sample rate of ${Math.ceil(2.1 * choice.toHz)} Hz or more.`,
        );
      const { channels, sampleRate } = makeSweep(planSweep(choice), rate);
      const frames = frameCount({ channels, sampleRate });
      return reply
        .header('content-disposition', `attachment; filename="sweep-${choice.seconds}s-${rate}.wav"`)
        .type('audio/wav')
        .send(
          Buffer.concat([wavHeader(sampleRate, 1, frames, 's24'), encodeSamples(channels, 's24', 0, frames)]),
        );
    },
  );

  app.get(
    '/api/places/:placeId',
    { schema: { summary: 'One place', params, response: { 200: placeEntrySchema } } },
    async ({ params }) => entryOfPlace(await library.get(params.placeId)),
  );

  app.post(
    '/api/places/:placeId/copy',
    {
      schema: {
        summary: 'Copy a place',
        params,
        body: placeCopy.nullish(),
        response: { 201: placeEntrySchema },
      },
    },
    async ({ params, body }, reply) =>
      reply.code(201).send(entryOfPlace(await library.copy(params.placeId, body?.name))),
  );

  app.patch(
    '/api/places/:placeId',
    {
      schema: {
        summary: 'Change a place; of one that comes with the program, a copy is made and changed (201)',
        params,
        body: placePatch,
        response: { 200: placeEntrySchema, 201: placeEntrySchema },
      },
    },
    async ({ params, body }, reply) => {
      const changed = await library.change(params.placeId, body);
      return reply.code(changed.place.id === params.placeId ? 200 : 201).send(entryOfPlace(changed));
    },
  );

  app.delete(
    '/api/places/:placeId',
    { schema: { summary: 'Delete an own place; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await library.delete(params.placeId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/places/:placeId/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: placeEntrySchema } } },
    async ({ params }) => entryOfPlace(await library.restore(params.placeId)),
  );

  app.get(
    '/api/versions/:versionId/places',
    {
      schema: {
        summary: 'A version in places, as it was last worked out',
        params: versionParams,
        response: { 200: songPlacesSchema },
      },
    },
    async ({ params }) => {
      const version = await bench.songs.getVersion(params.versionId);
      const [job, kept] = await Promise.all([
        bench.jobs.newest(version.id, 'places'),
        bench.places.kept(version),
      ]);
      if (!kept) return { job, settings: null, report: null, stale: false, madeAt: null };
      const { settings, ...rest } = kept;
      return {
        job,
        ...rest,
        settings: {
          ...settings,
          placeIds: settings.placeIds && [...settings.placeIds],
          referenceIds: [...settings.referenceIds],
        },
      };
    },
  );

  app.post(
    '/api/versions/:versionId/places',
    {
      schema: {
        summary: 'Ask for it; the unfinished run when it asks for the same, else that is replaced',
        params: versionParams,
        body: placesRequest.nullish(),
        response: { 200: jobSchema },
      },
    },
    ({ params, body }) => {
      const { level, placeIds, setId, referenceIds, leadVersionId, instrumentalVersionId } =
        placesRequest.parse(body ?? {});
      return bench.inPlaces(params.versionId, {
        level,
        placeIds: placeIds ?? null,
        setId: setId ?? null,
        referenceIds: referenceIds ?? [],
        leadVersionId: leadVersionId ?? null,
        instrumentalVersionId: instrumentalVersionId ?? null,
      });
    },
  );

  app.get(
    '/api/versions/:versionId/places/report',
    { schema: { summary: 'The same as a page that stands alone (text/html)', params: versionParams } },
    async ({ params }, reply) => {
      const version = await bench.songs.getVersion(params.versionId);
      const kept = await bench.places.kept(version);
      if (!kept) throw new CodedError('NOT_FOUND', `“${version.name}” has not been heard in places yet.`);
      return reply
        .header('content-security-policy', reportPolicy)
        .type('text/html; charset=utf-8')
        .send(placesReportHtml([kept.report], { madeAt: kept.madeAt }));
    },
  );
}

export function entryOfPlace(known: KnownPlace): PlaceEntry {
  return { ...known, sources: placeSources(known.place) };
}
