import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { DeskVersion } from '../../bench/desk.ts';
import { serviceGainDb } from '../../judge/service-gain.ts';
import type { App } from '../app-type.ts';
import {
  type DeskSource,
  deskReferencesSchema,
  deskSongSchema,
  matchRequest,
  matchSchema,
  soundQuery,
} from '../desk-api.ts';

export function deskRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/desk/songs/:songId',
    {
      schema: {
        summary: 'The versions of a song that can be heard, on one timeline',
        params: z.object({ songId: z.string() }),
        querystring: z.object({ base: z.string().optional() }),
        response: { 200: deskSongSchema },
      },
    },
    async ({ params, query }) => {
      const { song, base, sources, missing } = await bench.desk.open(params.songId, query.base);
      return {
        songId: song.id,
        title: song.title,
        baseVersionId: base.id,
        sources: sources.map((source) => sourceOf(source, song.title)),
        missing: missing.map(({ version, reason }) => ({
          versionId: version.id,
          name: version.name,
          reason,
        })),
      };
    },
  );

  app.get(
    '/api/desk/sets/:setId',
    {
      schema: {
        summary: 'The references of a set that can be heard',
        params: z.object({ setId: z.string() }),
        response: { 200: deskReferencesSchema },
      },
    },
    async ({ params }) => {
      const set = await bench.sets.get(params.setId);
      const titles = new Map(set.members.map(({ versionId, songTitle }) => [versionId, songTitle]));
      const sources = await bench.desk.references(set.members.map(({ versionId }) => versionId));
      return { sources: sources.map((source) => sourceOf(source, titles.get(source.version.id) ?? '')) };
    },
  );

  app.get(
    '/api/versions/:versionId/sound',
    {
      schema: {
        summary:
          'Frames of a version at a device’s rate, on the timeline of another version: interleaved 32-bit floats, two channels',
        params: z.object({ versionId: z.string() }),
        querystring: soundQuery,
      },
    },
    async ({ params: { versionId }, query: { base, ...query } }, reply) => {
      const { bytes, timelineFrames } = await bench.desk.sound(versionId, {
        ...query,
        baseId: base ?? versionId,
      });
      return reply
        .header('x-everyroom-frames', String(timelineFrames))
        .type('application/octet-stream')
        .send(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
    },
  );

  app.post(
    '/api/desk/match',
    {
      schema: {
        summary: 'Gains that make parts of versions equally loud, always downwards',
        body: matchRequest,
        response: { 200: matchSchema },
      },
    },
    async ({ body }) => {
      const { parts, matchedLufs } = await bench.desk.match(body.parts);
      return { parts: [...parts], matchedLufs };
    },
  );
}

function sourceOf({ version, facts, ...placed }: DeskVersion, songTitle: string): DeskSource {
  const { sampleRate, channels, seconds, loudness, peak, sections } = facts.measurement;
  return {
    versionId: version.id,
    songId: version.songId,
    name: version.name,
    songTitle,
    kind: version.kind,
    sampleRate,
    channels,
    seconds,
    integratedLufs: loudness.integratedLufs,
    truePeakDbtp: peak.truePeakDbtp,
    sections: sections.sections.map((section) => ({ ...section })),
    loudestSection: sections.loudest,
    ...placed,
    serviceGainDb: serviceGainDb(loudness.integratedLufs),
  };
}
