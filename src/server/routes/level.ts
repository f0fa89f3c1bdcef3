import type { Bench } from '../../bench/bench.ts';
import type { App } from '../app-type.ts';
import { atEarQuery, atEarSchema, exposureReport, levelPatch, levelSchema } from '../desk-api.ts';

export function levelRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/desk/level',
    { schema: { summary: 'How loud the listener hears, and for how long', response: { 200: levelSchema } } },
    () => bench.level.get(),
  );

  app.get(
    '/api/desk/level/at-ear',
    {
      schema: {
        summary: 'Roughly how loud a sound is where the listener sits',
        querystring: atEarQuery,
        response: { 200: atEarSchema },
      },
    },
    ({ query: { name, lufs } }) => bench.level.atEar(name, lufs ?? null),
  );

  app.put(
    '/api/desk/level',
    {
      schema: {
        summary: 'Calibrate (from a meter, or from whether one can talk over it), or set who listens',
        body: levelPatch,
        response: { 200: levelSchema },
      },
    },
    ({ body }) => bench.level.set(body),
  );

  app.post(
    '/api/desk/exposure',
    {
      schema: {
        summary: 'What was heard since the last report',
        body: exposureReport,
        response: { 200: levelSchema },
      },
    },
    ({ body }) => bench.level.heard(body.seconds, body.levelDbfsA),
  );
}
