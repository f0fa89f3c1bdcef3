import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { renderSVG } from 'uqr';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import type { Bench } from '../../bench/bench.ts';
import type { ReviewSheet } from '../../bench/delivery/reviews.ts';
import type { App } from '../app-type.ts';
import {
  newReviewLink,
  reviewLinkSchema,
  reviewSharingRequest,
  reviewSharingSchema,
  reviewsSchema,
  reviewWord,
} from '../records-api.ts';
import { reviewPage, reviewScriptHashes } from '../review-page.ts';
import type { Shareable, Sharing, SharingState } from '../sharing.ts';
import { sendVisitorError, VisitorLimits, visitorPagePolicy } from '../visitors.ts';

const bodyLimitBytes = 16_384;
const params = z.object({ id: z.string() });
const tokenParams = z.object({ token: z.string().max(100) });

/** Versions as they are shared in the local network, to be heard and approved. */
export function sharedReviews(bench: Bench, report: (error: unknown) => void): Shareable {
  return {
    usualPort: 4873,
    bodyLimitBytes,
    admit: (versionId) => bench.songs.getVersion(versionId),
    serve: (scope, versionId) => visitorReviewRoutes(scope, bench, versionId, report),
    told: () => bench.events.emit('record', null),
  };
}

/** The host's side: links, sharing, and what was said. */
export function reviewRoutes(app: App, bench: Bench, sharing: Sharing): void {
  const { reviews, store } = bench.records;

  app.get(
    '/api/versions/:id/reviews',
    {
      schema: {
        summary: 'What was said of a version by those with a link',
        params,
        response: { 200: reviewsSchema },
      },
    },
    async ({ params: { id } }) => {
      const { sha256 } = await bench.songs.getVersion(id);
      const words = await store.reviews(id);
      const last = words.filter(({ what }) => what !== 'wish').at(-1);
      return { approved: last?.what === 'approved' && last.sha256 === sha256, words };
    },
  );

  app.post(
    '/api/versions/:id/reviews/links',
    {
      schema: {
        summary: 'A link by which somebody may hear a version and approve it; its token is told once',
        params,
        body: newReviewLink,
        response: { 201: reviewLinkSchema },
      },
    },
    async ({ params: { id }, body: { name, note, hours } }, reply) => {
      const path = `/r/${await reviews.link(id, name, note, hours)}/`;
      const { on, id: shared, addresses } = sharing.state;
      const urls = on && shared === id ? addresses.map((address) => `${address}${path}`) : [];
      return reply.code(201).send({ path, links: urls.map((url) => ({ url, qrSvg: renderSVG(url) })) });
    },
  );

  app.delete(
    '/api/versions/:id/reviews/links',
    { schema: { summary: 'Every link to a version is dead; what was said stays', params } },
    async ({ params: { id } }, reply) => {
      await reviews.withdraw(id);
      return reply.code(204).send();
    },
  );

  app.get(
    '/api/reviews/sharing',
    { schema: { summary: 'Whether a version is shared, and which', response: { 200: reviewSharingSchema } } },
    async () => sharingOf(sharing.state),
  );

  app.put(
    '/api/versions/:id/reviews/sharing',
    {
      schema: {
        summary: 'Share a version in the local network, or stop; one at a time',
        params,
        body: reviewSharingRequest,
        response: { 200: reviewSharingSchema },
      },
    },
    async ({ params: { id }, body: { on, hours } }) =>
      sharingOf(await (on ? sharing.on(id, hours) : sharing.off(id))),
  );
}

function sharingOf({ id, addresses, ...rest }: SharingState) {
  return { ...rest, addresses: [...addresses], versionId: id };
}

/**
 * The visitor's side, under /r/: the page, the song, and taking a word in.
 *
 * @param only the version that may be entered here; null: any
 */
export async function visitorReviewRoutes(
  app: App,
  bench: Bench,
  only: string | null,
  report: (error: unknown) => void,
): Promise<void> {
  const { reviews } = bench.records;
  const limits = new VisitorLimits();
  app.setErrorHandler((error: FastifyError, _request, reply) => sendVisitorError(reply, error, report));
  app.addHook('onRequest', async (request, reply) => {
    reply.header('cache-control', 'no-store');
    limits.address(reply, request.ip);
  });

  const enter = async (request: FastifyRequest, reply: FastifyReply, token: string): Promise<ReviewSheet> => {
    try {
      const sheet = await reviews.enter(token, only);
      limits.visitor(reply, token);
      return sheet;
    } catch (error) {
      if (error instanceof CodedError && error.code === 'REVIEW_REFUSED') limits.wrongLink(reply, request.ip);
      throw error;
    }
  };

  app.get('/r/:token/', { schema: { hide: true, params: tokenParams } }, async (request, reply) => {
    const sheet = await enter(request, reply, request.params.token);
    return reply
      .header('content-security-policy', visitorPagePolicy(reviewScriptHashes))
      .type('text/html; charset=utf-8')
      .send(reviewPage(sheet));
  });

  app.get(
    '/r/:token/sound',
    { schema: { summary: 'The song that is to be approved', params: tokenParams } },
    async (request, reply) => {
      const sheet = await enter(request, reply, request.params.token);
      return sendRange(request, reply, reviews.soundPath(sheet));
    },
  );

  app.post(
    '/r/:token/words',
    { schema: { summary: 'A wish, an approval, or taking it back', params: tokenParams, body: reviewWord } },
    async (request, reply) => {
      await reviews.say(await enter(request, reply, request.params.token), request.body);
      return reply.code(204).send();
    },
  );
}

const mimeTypes: Readonly<Record<string, string>> = {
  FLAC: 'audio/flac',
  MP3: 'audio/mpeg',
  MP4: 'audio/mp4',
  OGG: 'audio/ogg',
  ADTS: 'audio/aac',
  AIFF: 'audio/aiff',
  'AIFF-C': 'audio/aiff',
};

/** A file or a part of it (RFC 9110 §14, one range): players ask for parts to jump. */
async function sendRange(request: FastifyRequest, reply: FastifyReply, path: string): Promise<FastifyReply> {
  const { size } = await stat(path);
  const { info, close } = await openSound(path);
  await close();
  reply.header('accept-ranges', 'bytes').type(mimeTypes[info.container] ?? 'audio/wav');
  const asked = /^bytes=(\d*)-(\d*)$/.exec(request.headers.range ?? '');
  if (!asked || (asked[1] === '' && asked[2] === ''))
    return reply.header('content-length', String(size)).send(createReadStream(path));
  const start = asked[1] === '' ? Math.max(0, size - Number(asked[2])) : Number(asked[1]);
  const end = asked[1] === '' || asked[2] === '' ? size - 1 : Math.min(size - 1, Number(asked[2]));
  if (start > end) return reply.code(416).header('content-range', `bytes */${size}`).send();
  return reply
    .code(206)
    .header('content-range', `bytes ${start}-${end}/${size}`)
    .header('content-length', String(end - start + 1))
    .send(createReadStream(path, { start, end }));
}
