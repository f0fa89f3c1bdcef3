import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { jobSchema } from '../api.ts';
import type { App } from '../app-type.ts';

const params = z.object({ jobId: z.string() });

export function jobRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/jobs',
    {
      schema: {
        summary: 'Jobs that have not ended',
        response: { 200: z.object({ jobs: z.array(jobSchema) }) },
      },
    },
    async () => ({ jobs: await bench.jobs.unfinished() }),
  );

  app.get(
    '/api/jobs/:jobId',
    { schema: { summary: 'One job', params, response: { 200: jobSchema } } },
    ({ params }) => bench.jobs.get(params.jobId),
  );

  app.post(
    '/api/jobs/:jobId/cancel',
    {
      schema: {
        summary: 'Stop a job; one that has ended stays as it is',
        params,
        response: { 200: jobSchema },
      },
    },
    ({ params }) => bench.jobs.cancel(params.jobId),
  );
}
