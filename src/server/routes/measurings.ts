import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { type Measuring as BenchMeasuring, curveOf } from '../../bench/places/measurings.ts';
import type { App } from '../app-type.ts';
import {
  type Measuring,
  measuredChoice,
  measuringPatch,
  measuringSchema,
  placeEntrySchema,
} from '../places-api.ts';
import { entryOfPlace } from './places.ts';

const params = z.object({ id: z.string() });

/** Measuring one's own place. The recording itself comes in through upload.ts. */
export function measuringRoutes(app: App, bench: Bench): void {
  const { measurings } = bench.places;

  app.get(
    '/api/places/measurings',
    {
      schema: {
        summary: 'Recordings made in places, newest first',
        response: { 200: z.object({ measurings: z.array(measuringSchema) }) },
      },
    },
    async () => ({ measurings: (await measurings.list()).map(measuringOf) }),
  );

  app.post(
    '/api/places/measurings',
    {
      schema: {
        summary: 'Begin to measure a place: what its recording will be of',
        body: measuringPatch.nullish(),
        response: { 201: measuringSchema },
      },
    },
    async ({ body }, reply) => {
      const {
        referenceVersionId = null,
        sweepSeconds = null,
        sweepToHz = 20000,
        microphone = null,
      } = body ?? {};
      const made = await measurings.make({
        referenceVersionId,
        sweepSeconds,
        sweepToHz,
        microphone: curveOf(microphone),
      });
      return reply.code(201).send(measuringOf(made));
    },
  );

  app.get(
    '/api/places/measurings/:id',
    { schema: { summary: 'One of them', params, response: { 200: measuringSchema } } },
    async ({ params }) => measuringOf(await measurings.get(params.id)),
  );

  app.patch(
    '/api/places/measurings/:id',
    {
      schema: {
        summary: 'Measure the same recording as something else',
        params,
        body: measuringPatch,
        response: { 200: measuringSchema },
      },
    },
    async ({ params, body: { microphone, ...rest } }) =>
      measuringOf(
        await measurings.change(params.id, {
          ...rest,
          ...(microphone === undefined ? {} : { microphone: curveOf(microphone) }),
        }),
      ),
  );

  app.post(
    '/api/places/measurings/:id/cancel',
    { schema: { summary: 'Stop it', params, response: { 200: measuringSchema } } },
    async ({ params }) => measuringOf(await measurings.cancel(params.id)),
  );

  app.delete(
    '/api/places/measurings/:id',
    { schema: { summary: 'Forget it and its recording; a place that was made of it stays', params } },
    async ({ params }, reply) => {
      await measurings.delete(params.id);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/places/measurings/:id/place',
    {
      schema: {
        summary: 'Make a place of what was measured, with what a recording cannot know',
        params,
        body: measuredChoice,
        response: { 201: placeEntrySchema },
      },
    },
    async ({ params, body }, reply) =>
      reply.code(201).send(entryOfPlace(await measurings.keepPlace(params.id, body))),
  );
}

export function measuringOf({ settings, ...rest }: BenchMeasuring): Measuring {
  const { microphone, ...asked } = settings;
  return { ...rest, ...asked, microphonePoints: microphone?.length ?? 0 };
}
