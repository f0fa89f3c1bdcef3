import type { Bench } from '../../bench/bench.ts';
import type { App } from '../app-type.ts';
import { clearRequest, storageSchema } from '../keeping-api.ts';

export function storageRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/storage',
    { schema: { summary: 'What the data folder holds, in bytes', response: { 200: storageSchema } } },
    () => bench.storage.use(),
  );

  app.post(
    '/api/storage/clear',
    {
      schema: {
        summary: 'Remove what can be made anew',
        body: clearRequest,
        response: { 200: storageSchema },
      },
    },
    ({ body }) => bench.storage.clear(body.what),
  );
}
