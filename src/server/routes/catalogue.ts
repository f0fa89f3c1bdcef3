import { Readable } from 'node:stream';
import { z } from 'zod';
import type { Catalogue } from '../../catalogue/catalogue.ts';
import { exportFormats, exportSongs } from '../../catalogue/looking/export-songs.ts';
import type { Run } from '../../catalogue/store/runs.ts';
import type { App } from '../app-type.ts';
import {
  type CatalogueRun,
  type CatalogueRunDetail,
  catalogueComparisonSchema,
  catalogueRunDetailSchema,
  catalogueRunSchema,
  catalogueVerdictSchema,
  songsPageSchema,
  songsQuery,
} from '../catalogue-api.ts';
import type { CatalogueDoor } from '../catalogue-door.ts';

const params = z.object({ runId: z.string().max(64) });
const songParams = params.extend({ seq: z.coerce.number().int().min(1) });

export function catalogueRoutes(app: App, door: CatalogueDoor): void {
  app.get(
    '/api/catalogue',
    {
      schema: {
        summary: 'Runs over catalogues, newest first',
        response: {
          200: z.object({ where: z.enum(['sqlite', 'postgres']), runs: z.array(catalogueRunSchema) }),
        },
      },
    },
    () =>
      door.use(async (catalogue) => {
        const runs = await catalogue.runs.all();
        return {
          where: catalogue.kind,
          runs: await Promise.all(runs.map((run) => counted(catalogue, run))),
        };
      }),
  );

  app.get(
    '/api/catalogue/runs/:runId',
    {
      schema: {
        summary: 'Where a run stands, and what was found',
        params,
        response: { 200: catalogueRunDetailSchema },
      },
    },
    ({ params }) => door.use((catalogue) => detail(catalogue, door, params.runId)),
  );

  app.post(
    '/api/catalogue/runs/:runId/stop',
    { schema: { summary: 'Leave undone what waits', params, response: { 200: catalogueRunSchema } } },
    ({ params }) =>
      door.use(async (catalogue) => {
        await catalogue.runs.stop(params.runId);
        return counted(catalogue, await catalogue.runs.get(params.runId));
      }),
  );

  app.get(
    '/api/catalogue/runs/:runId/songs',
    {
      schema: {
        summary: 'A page of its songs, sorted and filtered',
        params,
        querystring: songsQuery,
        response: { 200: songsPageSchema },
      },
    },
    ({ params, query }) =>
      door.use(async ({ runs, looking }) => looking.songs(await runs.get(params.runId), query)),
  );

  app.get(
    '/api/catalogue/runs/:runId/songs/:seq',
    {
      schema: {
        summary: 'The verdict on one song of a run',
        params: songParams,
        response: { 200: catalogueVerdictSchema },
      },
    },
    ({ params }) =>
      door.use(async (catalogue) => {
        const run = await catalogue.runs.get(params.runId);
        const song = await catalogue.looking.song(run.id, params.seq);
        const report = await catalogue.looking.report(run, song);
        return { run: await counted(catalogue, run), song, report };
      }),
  );

  app.get(
    '/api/catalogue/runs/:runId/compare',
    {
      schema: {
        summary: 'What got better and what worse since an earlier run',
        params,
        querystring: z.object({ with: z.string().max(64) }),
        response: { 200: catalogueComparisonSchema },
      },
    },
    ({ params, query }) =>
      door.use(async ({ runs, looking }) =>
        looking.compare(await runs.get(query.with), await runs.get(params.runId)),
      ),
  );

  app.get(
    '/api/catalogue/runs/:runId/export',
    {
      schema: {
        summary: 'Its songs as CSV or JSON Lines',
        params,
        querystring: z.object({ format: z.enum(exportFormats).default('csv') }),
      },
    },
    ({ params, query: { format } }, reply) =>
      door.use(async ({ runs, looking }) => {
        const run = await runs.get(params.runId);
        return reply
          .type(format === 'csv' ? 'text/csv; charset=utf-8; header=present' : 'application/x-ndjson')
          .header('content-disposition', `attachment; filename="catalogue-${run.id}.${format}"`)
          .send(Readable.from(exportSongs(looking, run, format)));
      }),
  );
}

async function counted({ looking }: Catalogue, run: Run): Promise<CatalogueRun> {
  return { ...run, counts: await looking.counts(run.id) };
}

async function detail(catalogue: Catalogue, door: CatalogueDoor, runId: string): Promise<CatalogueRunDetail> {
  const { looking, runs } = catalogue;
  const run = await counted(catalogue, await runs.get(runId));
  const { waiting, working, done, failed, stopped } = run.counts;
  const aMinute = run.endedMs === null ? door.pace(runId, done + failed + stopped) : null;
  const left = run.listedMs !== null && aMinute !== null && aMinute > 0;
  return {
    ...run,
    aMinute,
    secondsLeft: left ? ((waiting + working) / aMinute) * 60 : null,
    workers: run.endedMs === null ? await looking.workers(runId) : [],
    rules: await looking.rules(run),
    faults: failed > 0 ? await looking.faults(runId) : [],
    middles: await looking.middles(run),
    earlier: (await runs.all())
      .filter(({ id, what, startedMs }) => what === run.what && id !== runId && startedMs < run.startedMs)
      .map(({ id, startedMs, engine, profile }) => ({ id, startedMs, engine, profile })),
  };
}
