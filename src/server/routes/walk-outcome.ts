import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { bandWords } from '../../judge/chain-story.ts';
import { walkSentences } from '../../judge/places-words.ts';
import {
  otherComplaints,
  predictionSentence,
  predictionsSentences,
  whyBand,
} from '../../judge/walk-words.ts';
import { bandCentresHz } from '../../places/place-curve.ts';
import type { App } from '../app-type.ts';
import { correctionSchema, predictionsSchema, refuseQuery } from '../walk-api.ts';

const params = z.object({ id: z.string() });
/** Bands count from 1 where people read them. */
const refusedOf = ({ refuse }: { refuse?: string }): ReadonlySet<number> =>
  new Set((refuse?.split(',') ?? []).map((number) => Number(number) - 1));

/** What comes of a walk: the correction, and what every place would hear. */
export function walkOutcomeRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/walks/:id/correction',
    {
      schema: {
        summary: 'The smallest smooth correction that answers the walk, as a curve and as a few bands',
        params,
        querystring: refuseQuery,
        response: { 200: correctionSchema },
      },
    },
    async ({ params: { id }, query }, reply) => {
      const { walk, stops, solution, bands, refused, bandsDb, chain } = await bench.walks.correction(
        id,
        refusedOf(query),
        { signal: whileWaiting(reply) },
      );
      const names = new Map(stops.map((stop) => [stop.id, stop.name]));
      const nameOf = (stopId: string) => names.get(stopId) ?? 'a place that was left out';
      return {
        walkId: walk.id,
        songId: walk.songId,
        versionId: walk.version.id,
        title: walk.title,
        sentences: walkSentences(solution, nameOf),
        others: otherComplaints(stops).map((each) => ({ ...each })),
        complaints: solution.complaints,
        answered: solution.answered,
        curve: bandCentresHz.map((hertz, i) => ({
          hertz,
          wantedDb: solution.curveDb[i],
          bandsDb: bandsDb[i],
        })),
        bands: bands.map((band, i) => ({
          number: i + 1,
          refused: refused.has(i),
          shape: band.shape as 'low-shelf' | 'bell' | 'high-shelf',
          hertz: band.hertz,
          gainDb: band.gainDb,
          q: band.q,
          words: bandWords(band),
          why: whyBand(band, solution.predictions, nameOf),
        })),
        conflicts: solution.conflicts.map(({ tooMuch, tooLittle, ...conflict }) => ({
          ...conflict,
          tooMuch: [...tooMuch],
          tooLittle: [...tooLittle],
        })),
        wishes: solution.predictions.map(({ placeId: stopId, ...wish }) => ({ ...wish, stopId })),
        chain: {
          ...chain,
          parts: chain.parts.map((part) => ({ ...part, settings: { ...part.settings } })),
        },
      };
    },
  );

  app.get(
    '/api/walks/:id/predictions',
    {
      schema: {
        summary: 'What every place would hear of the correction, before anything is changed',
        params,
        querystring: refuseQuery,
        response: { 200: predictionsSchema },
      },
    },
    async ({ params: { id }, query }, reply) => {
      const places = await bench.walks.predictions(id, refusedOf(query), { signal: whileWaiting(reply) });
      return {
        places: places.map((place) => ({
          ...place,
          stopIds: [...place.stopIds],
          areas: place.areas.map((area) => ({ ...area })),
          sentence: predictionSentence(place),
        })),
        sentences: predictionsSentences(places),
      };
    },
  );
}

/** Whoever stops waiting for the answer does not want the work done. */
function whileWaiting(reply: FastifyReply): AbortSignal {
  const stop = new AbortController();
  reply.raw.once('close', () => stop.abort());
  return stop.signal;
}
