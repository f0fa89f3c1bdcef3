import swagger from '@fastify/swagger';
import Fastify from 'fastify';
import {
  jsonSchemaTransform,
  serializerCompiler,
  validatorCompiler,
  type ZodTypeProvider,
} from 'fastify-type-provider-zod';
import type { Bench } from '../bench/bench.ts';
import { version } from '../bench/version.ts';
import { healthSchema } from './api.ts';
import type { App } from './app-type.ts';
import type { CatalogueDoor } from './catalogue-door.ts';
import { answerErrors, sendError } from './errors.ts';
import { serveEvents } from './event-stream.ts';
import { guard } from './guard.ts';
import { secureHeaders } from './headers.ts';
import { servePage } from './page.ts';
import { catalogueRoutes } from './routes/catalogue.ts';
import { chainRoutes } from './routes/chains.ts';
import { deskRoutes } from './routes/desk.ts';
import { finishingRoutes } from './routes/finishing.ts';
import { jobRoutes } from './routes/jobs.ts';
import { levelRoutes } from './routes/level.ts';
import { measuringRoutes } from './routes/measurings.ts';
import { notebookRoutes, sharedWalks } from './routes/notebook.ts';
import { noteRoutes } from './routes/notes.ts';
import { placeRoutes } from './routes/places.ts';
import { recordRoutes } from './routes/records.ts';
import { reviewRoutes, sharedReviews, visitorReviewRoutes } from './routes/reviews.ts';
import { setRoutes } from './routes/sets.ts';
import { shootoutListenerRoutes } from './routes/shootout-listeners.ts';
import { shootoutOutcomeRoutes } from './routes/shootout-outcome.ts';
import { shootoutRoutes } from './routes/shootouts.ts';
import { songRoutes } from './routes/songs.ts';
import { storageRoutes } from './routes/storage.ts';
import { surviveRoutes } from './routes/survive.ts';
import { uploadRoute } from './routes/upload.ts';
import { versionRoutes } from './routes/versions.ts';
import { sharedShootouts, voterRoutes } from './routes/voter.ts';
import { walkOutcomeRoutes } from './routes/walk-outcome.ts';
import { walkRoutes } from './routes/walks.ts';
import { watchRoutes } from './routes/watch.ts';
import { Sharing, type SharingOptions } from './sharing.ts';

export interface AppOptions {
  /** Host names it answers to, without port. */
  readonly hosts: readonly string[];
  /** Folder of the built page. */
  readonly pagePath: string;
  /** Largest file taken in. */
  readonly maxBytes: number;
  /** Of sharing a shoot-out; the machine's own addresses by default. */
  readonly sharing?: SharingOptions;
  /** The way to catalogues; closed with the app. */
  readonly catalogue: CatalogueDoor;
  /** Told of faults of ours. */
  readonly report: (error: unknown) => void;
}

const jsonLimitBytes = 1 << 20;

/** The HTTP interface over a bench (the routes are listed in api.ts), ready to listen. */
export async function buildApp(
  bench: Bench,
  { hosts, pagePath, maxBytes, catalogue, report, sharing: sharingOptions }: AppOptions,
): Promise<App> {
  const app: App = Fastify({
    bodyLimit: jsonLimitBytes,
    exposeHeadRoutes: false,
    forceCloseConnections: true,
    frameworkErrors: (error, _request, reply) => void sendError(reply, error, report),
  }).withTypeProvider<ZodTypeProvider>();
  const sharing = new Sharing(sharedShootouts(bench, report), report, sharingOptions);
  const walkSharing = new Sharing(sharedWalks(bench, report), report, sharingOptions);
  const reviewSharing = new Sharing(sharedReviews(bench, report), report, sharingOptions);
  app.addHook(
    'onClose',
    async () => void (await Promise.all([sharing, walkSharing, reviewSharing].map((each) => each.off()))),
  );
  app.addHook('onClose', () => catalogue.close());
  const ownVersion = version();
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  secureHeaders(app);
  guard(app, hosts, () => portOf(app));
  answerErrors(app, report);
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Everyroom',
        description:
          'The bench for finishing music, as the page uses it. Errors: { error: { code, message } }.',
        version: ownVersion,
      },
    },
    transform: jsonSchemaTransform,
  });
  await app.register(async (api: App) => {
    api.get(
      '/api/health',
      { schema: { summary: 'Whether it works, and which it is', response: { 200: healthSchema } } },
      async () => ({
        name: 'Everyroom' as const,
        version: ownVersion,
        demoAvailable: await bench.demoAvailable(),
      }),
    );
    songRoutes(api, bench);
    versionRoutes(api, bench);
    surviveRoutes(api, bench);
    deskRoutes(api, bench);
    finishingRoutes(api, bench);
    jobRoutes(api, bench);
    setRoutes(api, bench);
    noteRoutes(api, bench);
    watchRoutes(api, bench);
    levelRoutes(api, bench);
    storageRoutes(api, bench);
    shootoutRoutes(api, bench);
    shootoutListenerRoutes(api, bench, sharing);
    shootoutOutcomeRoutes(api, bench, sharing);
    placeRoutes(api, bench);
    measuringRoutes(api, bench);
    chainRoutes(api, bench);
    walkRoutes(api, bench, walkSharing);
    walkOutcomeRoutes(api, bench);
    recordRoutes(api, bench);
    reviewRoutes(api, bench, reviewSharing);
    catalogueRoutes(api, catalogue);
    serveEvents(api, bench.events);
    api.get('/api/openapi.json', { schema: { hide: true } }, () => app.swagger());
  });
  await app.register((scope: App) => uploadRoute(scope, bench, maxBytes));
  await app.register((scope: App) => voterRoutes(scope, bench, () => ({ where: 'here' }), report));
  await app.register((scope: App) => notebookRoutes(scope, bench, null, () => walkSharing.reach(), report));
  await app.register((scope: App) => visitorReviewRoutes(scope, bench, null, report));
  await servePage(app, pagePath);
  return app;
}

/** The port an app listens on; 0 while it does not. */
export function portOf(app: App): number {
  const address = app.server.address();
  return address !== null && typeof address === 'object' ? address.port : 0;
}
