import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { wavHeader } from '../../audio/encode-wav.ts';
import { durationSeconds, frameCount, type Pcm } from '../../audio/pcm.ts';
import { encodeSamples } from '../../audio/sample-coding.ts';
import type { Bench } from '../../bench/bench.ts';
import { excerptSound } from '../../survive/excerpt-sound.ts';
import { findFormat, surviveFormats } from '../../survive/formats.ts';
import {
  excerptQuery,
  jobSchema,
  survivalSchema,
  surviveFormatSchema,
  surviveRequestSchema,
} from '../api.ts';
import type { App } from '../app-type.ts';

const params = z.object({ versionId: z.string() });

export function surviveRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/survive/formats',
    {
      schema: {
        summary: 'The formats that are usually tried',
        response: { 200: z.object({ formats: z.array(surviveFormatSchema) }) },
      },
    },
    async () => ({
      formats: surviveFormats.map(({ id, label, codec, then }) => ({
        id,
        label,
        codec,
        inSeries: then !== undefined,
      })),
    }),
  );

  app.get(
    '/api/versions/:versionId/survive',
    {
      schema: {
        summary: 'How a version survives lossy coding, as far as it is known',
        params,
        response: { 200: survivalSchema },
      },
    },
    async ({ params }) => {
      const { settings, ...rest } = await bench.survival(await bench.songs.getVersion(params.versionId));
      return { ...rest, settings: settings && { ...settings, formatIds: [...settings.formatIds] } };
    },
  );

  app.post(
    '/api/versions/:versionId/survive',
    {
      schema: {
        summary:
          'Ask for it; the unfinished run when there is one with the same settings, else it is replaced',
        params,
        body: surviveRequestSchema.nullish(),
        response: { 200: jobSchema },
      },
    },
    ({ params, body }) => {
      const { formatIds, ...rest } = surviveRequestSchema.parse(body ?? {});
      return bench.survive(params.versionId, {
        formatIds: formatIds ?? surviveFormats.map(({ id }) => id),
        ...rest,
      });
    },
  );

  app.get(
    '/api/versions/:versionId/survive/:formatId/excerpt',
    {
      schema: {
        summary:
          'A passage before coding, after it, or the difference, as audio/wav (32-bit float, never above −1 dBTP); its gain is in the headers',
        params: params.extend({ formatId: z.string().max(40) }),
        querystring: excerptQuery,
      },
    },
    async ({ params, query }, reply) => {
      const { sha256 } = await bench.songs.getVersion(params.versionId);
      const format = findFormat(params.formatId);
      if (!format) throw new CodedError('NOT_FOUND', `There is no format “${params.formatId}”.`);
      const passage = await bench.excerpts.get({
        sha256,
        format,
        startSeconds: query.start,
        seconds: query.seconds,
      });
      const { pcm, gainDb, raisedDb, matchedDb, levelDb } = excerptSound(passage, query.what, query);
      return reply
        .headers({
          'x-everyroom-gain-db': gainDb.toFixed(3),
          'x-everyroom-raised-db': raisedDb.toFixed(3),
          'x-everyroom-matched-db': matchedDb.toFixed(3),
          'x-everyroom-level-db': levelDb === null ? '' : levelDb.toFixed(3),
          'x-everyroom-seconds': durationSeconds(pcm).toFixed(6),
        })
        .type('audio/wav')
        .send(wavBytes(pcm));
    },
  );
}

function wavBytes(pcm: Pcm): Buffer {
  const frames = frameCount(pcm);
  return Buffer.concat([
    wavHeader(pcm.sampleRate, pcm.channels.length, frames, 'f32'),
    encodeSamples(pcm.channels, 'f32', 0, frames),
  ]);
}
