import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { AtEar, Level } from '../../src/server/desk-api.ts';
import { startServer } from '../../src/server/start.ts';
import { Client, scratchFolder } from './server-support.ts';

test('the listening clock: calibrated, counted, kept over a restart, and forgotten after the week', async () => {
  await using folder = await scratchFolder();
  let now = new Date(2026, 2, 10, 12);
  const later = (seconds: number) => {
    now = new Date(now.getTime() + 1000 * seconds);
  };
  const start = async () => {
    const server = await startServer({ port: 0, home: join(folder.path, 'home'), bench: { now: () => now } });
    return { server, client: new Client(server.url) };
  };
  let { server, client } = await start();
  const heard = async (seconds: number, levelDbfsA: number | null) => {
    later(seconds);
    return (await client.call<Level>('POST', '/api/desk/exposure', { seconds, levelDbfsA })).body;
  };
  try {
    expect(await client.get<Level>('/api/desk/level')).toEqual({
      calibration: null,
      week: { seconds: 0, shareOfAllowance: null },
      today: { seconds: 0, shareOfAllowance: null },
      sinceBreakSeconds: 0,
      advice: null,
      listener: 'adult',
      cautionRead: false,
    });
    expect(await heard(600, -20)).toMatchObject({ week: { seconds: 600, shareOfAllowance: null } });

    const { body: set } = await client.call<Level>('PUT', '/api/desk/level', {
      heard: { by: 'meter', splDb: 76.4, noiseLufs: -20 },
      cautionRead: true,
    });
    expect(set.calibration).toMatchObject({ by: 'meter', uncertaintyDb: 4, madeAt: now.toISOString() });
    expect(set.cautionRead).toBe(true);
    const splDb = -20 + 6.6 + set.calibration!.splAtZeroLufsDb;
    const weekShare = (600 / (40 * 3600)) * 10 ** ((splDb - 80) / 10);
    expect(set.week.shareOfAllowance).toBeCloseTo(weekShare, 9);

    const atEar = (query: string) => client.get<AtEar>(`/api/desk/level/at-ear?name=Song&${query}`);
    const told = await atEar('lufs=-30');
    expect(told.splDb).toBeCloseTo(-30 + set.calibration!.splAtZeroLufsDb, 9);
    expect(told.sentence).toBe(
      'At your level, Song comes to about 66 dBA where you sit, give or take 4 (by a meter’s reading).',
    );
    expect((await atEar('')).sentence).toContain('has no loudness');

    // Silence is no listening.
    expect(await heard(200, null)).toMatchObject({ week: { seconds: 600 }, sinceBreakSeconds: 600 });
    expect(await heard(100, null)).toMatchObject({ sinceBreakSeconds: 0 });
    const on = await heard(600, -20);
    expect(on).toMatchObject({ sinceBreakSeconds: 600, today: { seconds: 1200 } });
    expect(on.week.shareOfAllowance).toBeCloseTo(2 * weekShare, 9);

    // Turned up by 10 dB and calibrated anew, the past stays what it was.
    const { calibration } = on;
    await client.call('PUT', '/api/desk/level', {
      calibration: { ...calibration, splAtZeroLufsDb: calibration!.splAtZeroLufsDb + 10 },
    });
    const louder = await heard(600, -20);
    // The first stretch was heard before there was any calibration, and follows the newest.
    expect(louder.week.shareOfAllowance).toBeCloseTo((10 + 1 + 10) * weekShare, 9);
    const { body: sensitive } = await client.call<Level>('PUT', '/api/desk/level', { listener: 'sensitive' });
    expect(sensitive.week.shareOfAllowance! / louder.week.shareOfAllowance!).toBeCloseTo(10 ** 0.5, 6);

    await server.close();
    ({ server, client } = await start());
    expect(await client.get<Level>('/api/desk/level')).toEqual(sensitive);
    later(24 * 3600);
    expect(await client.get<Level>('/api/desk/level')).toMatchObject({
      today: { seconds: 0 },
      week: { seconds: 1800 },
      sinceBreakSeconds: 0,
    });
    later(7 * 24 * 3600);
    expect((await client.get<Level>('/api/desk/level')).week.seconds).toBe(0);
    expect((await client.call('POST', '/api/desk/exposure', { seconds: -1, levelDbfsA: 0 })).status).toBe(
      400,
    );
    const shout = { heard: { by: 'talk', voice: 'shouting', noiseLufs: -23 } };
    expect((await client.call<Level>('PUT', '/api/desk/level', shout)).body.calibration).toMatchObject({
      by: 'talk',
      splAtZeroLufsDb: 115,
    });
  } finally {
    await server.close();
  }
});
