import { PassThrough } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { BenchEvents, DeskNews, PlacesNews } from '../bench/events.ts';
import type { Job } from './api.ts';

/** A comment line this often shows both ends that the other is still there. */
const heartbeatMilliseconds = 15_000;
/** A listener that has let this much pile up is not listening; it is cut off and will come back if it lives. */
const mostWaitingBytes = 1 << 20;

/** GET /api/events: what happens on the bench, as it happens. */
export function serveEvents(app: FastifyInstance, events: BenchEvents): void {
  const open = new Set<PassThrough>();

  app.get(
    '/api/events',
    {
      schema: {
        summary:
          "Events 'job' (a Job), 'songs' ({}), 'survive' ({ versionId }), 'finish' ({ versionId }), 'desk' ({ what, versionId?, songId? }), 'shootout' ({ shootoutId }), 'places' ({ versionId?, measuringId? }), 'walk' ({ walkId }), 'chain' ({ chainId, songId }) and 'record' ({ recordId }), as text/event-stream",
      },
    },
    (_request, reply) => {
      const stream = new PassThrough();
      const send = (text: string): void => {
        if (stream.readableLength + stream.writableLength > mostWaitingBytes) stream.destroy();
        else if (stream.writable) stream.write(text);
      };
      const onJob = (job: Job): void => send(`event: job\ndata: ${JSON.stringify(job)}\n\n`);
      const onSongs = (): void => send('event: songs\ndata: {}\n\n');
      const onSurvive = (versionId: string): void =>
        send(`event: survive\ndata: ${JSON.stringify({ versionId })}\n\n`);
      const onFinish = (versionId: string): void =>
        send(`event: finish\ndata: ${JSON.stringify({ versionId })}\n\n`);
      const onDesk = (news: DeskNews): void => send(`event: desk\ndata: ${JSON.stringify(news)}\n\n`);
      const onShootout = (shootoutId: string | null): void =>
        send(`event: shootout\ndata: ${JSON.stringify({ shootoutId })}\n\n`);
      const onPlaces = (news: PlacesNews): void => send(`event: places\ndata: ${JSON.stringify(news)}\n\n`);
      const onChain = (news: { chainId: string; songId: string }): void =>
        send(`event: chain\ndata: ${JSON.stringify(news)}\n\n`);
      const onWalk = (walkId: string): void => send(`event: walk\ndata: ${JSON.stringify({ walkId })}\n\n`);
      const onRecord = (recordId: string | null): void =>
        send(`event: record\ndata: ${JSON.stringify({ recordId })}\n\n`);
      const heartbeat = setInterval(() => send(': still here\n\n'), heartbeatMilliseconds);
      events.on('job', onJob);
      events.on('songs', onSongs);
      events.on('survive', onSurvive);
      events.on('finish', onFinish);
      events.on('desk', onDesk);
      events.on('shootout', onShootout);
      events.on('places', onPlaces);
      events.on('chain', onChain);
      events.on('walk', onWalk);
      events.on('record', onRecord);
      open.add(stream);
      stream.once('close', () => {
        clearInterval(heartbeat);
        events.off('job', onJob);
        events.off('songs', onSongs);
        events.off('survive', onSurvive);
        events.off('finish', onFinish);
        events.off('desk', onDesk);
        events.off('shootout', onShootout);
        events.off('places', onPlaces);
        events.off('chain', onChain);
        events.off('walk', onWalk);
        events.off('record', onRecord);
        open.delete(stream);
      });
      send('retry: 1500\n\n');
      return reply.type('text/event-stream; charset=utf-8').send(stream);
    },
  );

  // A server that closes would otherwise wait for pages that have nothing to say.
  app.addHook('preClose', async () => {
    for (const stream of open) stream.end();
  });
}
