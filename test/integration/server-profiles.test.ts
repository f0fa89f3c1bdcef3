import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import Database from 'libsql';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { ChangeReport } from '../../src/judge/change-report.ts';
import { profileIds } from '../../src/judge/profiles.ts';
import type { ApiError, Job, Version, VersionDetail } from '../../src/server/api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client, music, scratchFolder, writeMusic } from './server-support.ts';

describe('profiles', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let client: Client;
  let version: VersionDetail;

  const start = async (): Promise<void> => {
    server = await startServer({ port: 0, home: join(folder.path, 'home') });
    client = new Client(server.url);
  };
  const heldAgainst = (profile: string) =>
    client.get<VersionDetail>(`/api/versions/${version.id}?profile=${profile}`);

  beforeAll(async () => {
    folder = await scratchFolder();
    await start();
    const path = await writeMusic(join(folder.path, 'song.wav'));
    const { body } = await client.upload(await readFile(path), 'song.wav');
    await client.jobEnded(body.job!.id);
    version = await client.version(body.version.id);
  });

  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  test('a song is held against any profile without being measured again', async () => {
    const jobsBefore = version.job?.id;
    expect(version.report?.profile.id).toBe('streaming');
    for (const id of profileIds) {
      const { report, job } = await heldAgainst(id);
      expect(report?.profile.id).toBe(id);
      expect(report?.loudness).toEqual(version.report?.loudness);
      expect(report?.peak).toEqual(version.report?.peak);
      expect(job?.id).toBe(jobsBefore);
    }
    const { report: broadcast } = await heldAgainst('broadcast-r128');
    const ids = broadcast?.findings.map((finding) => finding.id) ?? [];
    expect(ids).toContain('too-loud-for-delivery');
    expect(ids).not.toContain('turned-down');
    const page = await client.call<string>('GET', `/api/versions/${version.id}/report?profile=compact-disc`);
    expect(page.body).toContain('Compact disc');
    expect(await client.get<{ jobs: Job[] }>('/api/jobs')).toEqual({ jobs: [] });
  });

  test('what is no profile is refused', async () => {
    const { status, body } = await client.call<ApiError>(
      'GET',
      `/api/versions/${version.id}?profile=nowhere`,
    );
    expect(status).toBe(400);
    expect(body.error.code).toBe('REQUEST_INVALID');
  });

  test('called a mix, a version is judged as a mix, in the list too', async () => {
    const patched = await client.call<Version>('PATCH', `/api/versions/${version.id}`, { kind: 'mix' });
    const detail = await client.version(version.id);
    expect(detail.report?.profile.id).toBe('mix-for-finishing');
    expect(patched.body.verdict?.headline).toBe(detail.report?.headline);
    await client.call('PATCH', `/api/versions/${version.id}`, { kind: 'master' });
    expect((await client.version(version.id)).report).toEqual(version.report);
  });

  test('what changed between two versions is told, and between strangers refused with a sentence', async () => {
    const louder = await writeMusic(join(folder.path, 'quiet.wav'), music(2, { gain: 0.7 }));
    const { body } = await client.upload(await readFile(louder), 'quiet.wav', version.songId);
    await client.jobEnded(body.job!.id);
    const change = await client.get<ChangeReport>(
      `/api/versions/${body.version.id}/change?from=${version.id}`,
    );
    expect(change).toMatchObject({ before: { name: 'song.wav' }, after: { name: 'quiet.wav' } });
    expect(change.sentences.length).toBeGreaterThan(0);
    const nobody = await client.call<ApiError>('GET', `/api/versions/${version.id}/change?from=nobody`);
    expect(nobody.status).toBe(404);
  });

  test('what an older Everyroom measured otherwise is checked again when the new one starts', async () => {
    await server.close();
    const database = new Database(join(folder.path, 'home', 'everyroom.db'));
    database.exec('UPDATE reports SET measured_by = 0, facts = \'{"lossy":[],"lossyFailed":[]}\'');
    database.close();
    await start();
    const { job } = await client.version(version.id);
    expect(job?.id).not.toBe(version.job?.id);
    await client.jobEnded(job!.id);
    const { report } = await client.version(version.id);
    expect(report?.loudness).toEqual(version.report?.loudness);
    // It was last checked without the round trips, so it is again.
    expect(report?.lossy).toEqual([]);
  });
});
