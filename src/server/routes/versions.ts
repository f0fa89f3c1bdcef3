import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import type { Bench } from '../../bench/bench.ts';
import { reportHtml } from '../../deliver/report-html.ts';
import { changeReportSchema } from '../../judge/change-report.ts';
import { jobSchema, profileQuery, versionDetailSchema, versionPatch, versionSchema } from '../api.ts';
import type { App } from '../app-type.ts';
import { reportPolicy } from '../headers.ts';

const params = z.object({ versionId: z.string() });
const checkBody = z.object({ lossy: z.boolean().default(true) }).nullish();

export function versionRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/versions/:versionId',
    {
      schema: {
        summary: 'One version with its report, held against a profile',
        params,
        querystring: profileQuery,
        response: { 200: versionDetailSchema },
      },
    },
    async ({ params, query }) => {
      const version = await bench.songs.getVersion(params.versionId);
      return { ...version, report: await bench.report(version, query.profile) };
    },
  );

  app.patch(
    '/api/versions/:versionId',
    {
      schema: {
        summary: 'Rename a version, change its kind, move it to another song',
        params,
        body: versionPatch,
        response: { 200: versionSchema },
      },
    },
    ({ params, body }) => bench.patchVersion(params.versionId, body),
  );

  app.delete(
    '/api/versions/:versionId',
    { schema: { summary: 'Delete a version; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await bench.deleteVersion(params.versionId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/versions/:versionId/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: versionSchema } } },
    ({ params }) => bench.restoreVersion(params.versionId),
  );

  app.post(
    '/api/versions/:versionId/check',
    {
      schema: {
        summary: 'Ask for a check; the unfinished one when there is one',
        params,
        body: checkBody,
        response: { 200: jobSchema },
      },
    },
    ({ params, body }) => bench.check(params.versionId, body?.lossy ?? true),
  );

  app.get(
    '/api/versions/:versionId/traces',
    { schema: { summary: 'What there is to draw: waveform and loudness over time', params } },
    async ({ params }) => bench.traces(await bench.songs.getVersion(params.versionId)),
  );

  app.get(
    '/api/versions/:versionId/change',
    {
      schema: {
        summary: 'What changed in this version from another one; answers when it has been found out',
        params,
        querystring: z.object({ from: z.string() }),
        response: { 200: changeReportSchema },
      },
    },
    async ({ params, query }, reply) => {
      const stop = new AbortController();
      // Whoever stops waiting for the answer does not want the work done.
      reply.raw.once('close', () => stop.abort());
      const [before, after] = [
        await bench.songs.getVersion(query.from),
        await bench.songs.getVersion(params.versionId),
      ];
      return bench.change(before, after, { signal: stop.signal });
    },
  );

  app.get(
    '/api/versions/:versionId/report',
    {
      schema: {
        summary: 'The report as a page that stands alone (text/html)',
        params,
        querystring: profileQuery,
      },
    },
    async ({ params, query }, reply) => {
      const version = await bench.songs.getVersion(params.versionId);
      const report = await bench.report(version, query.profile);
      if (!report) throw new CodedError('NOT_FOUND', `“${version.name}” has not been checked yet.`);
      const html = reportHtml([{ report, traces: await bench.traces(version) }]);
      return reply
        .header('content-security-policy', reportPolicy)
        .type('text/html; charset=utf-8')
        .send(html);
    },
  );
}
