import { execFile } from 'node:child_process';
import { mkdir, readdir, readFile } from 'node:fs/promises';
import { request } from 'node:http';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { ApiError } from '../../src/server/api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client, music, scratchFolder, writeMusic } from './server-support.ts';

const run = promisify(execFile);

describe('files that come in', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let home: string;
  let server: RunningServer;
  let client: Client;

  beforeAll(async () => {
    folder = await scratchFolder();
    home = join(folder.path, 'home');
    server = await startServer({ port: 0, home, maxBytes: 1_000_000 });
    client = new Client(server.url);
  });

  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  /** Names of files (not folders) below the data folder, the database's left out. */
  const filesKept = async (): Promise<string[]> =>
    (await readdir(folder.path, { recursive: true, withFileTypes: true }))
      .filter((entry) => entry.isFile() && !/\.(db|lock)|^server\.json$/.test(entry.name))
      .map((entry) => entry.name);

  test.each([
    ['../../x.wav', 'x.wav', 'x'],
    ['C:\\music\\take 3.wav', 'take 3.wav', 'take 3'],
    ['/etc/passwd', 'passwd', 'passwd'],
    ['..', '..', '..'],
    ['', 'unnamed', 'unnamed'],
    ['nul\0in\u202Eside.wav', 'nulinside.wav', 'nulinside'],
    ['CON.wav', 'CON.wav', 'CON'],
    [`${'long'.repeat(75)}.wav`, 'long'.repeat(50), 'long'.repeat(50)],
    ['Ärger – 2️⃣.flac', 'Ärger – 2️⃣.flac', 'Ärger – 2️⃣'],
  ])('the name %j is only ever shown', async (given, shown, title) => {
    const { status, body } = await client.upload(Buffer.from('not a sound'), given);
    expect(status).toBe(201);
    expect(body.version.name).toBe(shown);
    expect(body.song.title).toBe(title);
    await client.jobEnded(body.job!.id);
    // All that is kept is the one file, under its hash.
    expect(await filesKept()).toEqual([body.version.sha256]);
  });

  test.each([
    ['nothing', Buffer.alloc(0), 'FILE_EMPTY'],
    ['text', Buffer.from('Dear listener, this is a letter and no sound at all.'), 'SOUND_NOT_RECOGNISED'],
    ['a header alone', Buffer.from('RIFF\x04\0\0\0WAVE', 'latin1'), /^SOUND_/],
  ])('%s is taken in, and its check fails with one sentence', async (what, bytes, code) => {
    const { body } = await client.upload(bytes, `${what}.wav`);
    const job = await client.jobEnded(body.job!.id);
    expect(job.state).toBe('failed');
    expect(job.error?.code).toMatch(code);
    expect(job.error?.message).toContain(`${what}.wav`);
    expect(job.error?.message).not.toMatch(/\n|[0-9a-f]{64}/);
    expect((await client.version(body.version.id)).report).toBeNull();
  });

  test.each([true, false])(
    'a file over the limit is refused and leaves nothing (length announced: %s)',
    async (announced) => {
      const before = await filesKept();
      const bytes = new Uint8Array(3_000_000);
      const body = announced ? bytes : Readable.toWeb(Readable.from([bytes]));
      const response = await fetch(`${server.url}/api/versions?name=big.wav`, {
        method: 'POST',
        body,
        duplex: 'half',
      } as RequestInit);
      expect(response.status).toBe(413);
      expect(((await response.json()) as ApiError).error.code).toBe('FILE_TOO_LARGE');
      expect(await filesKept()).toEqual(before);
    },
  );

  test('an upload that is broken off leaves nothing', async () => {
    const before = await filesKept();
    const songs = await client.get('/api/songs');
    const sent = request(`${server.url}/api/versions?name=half.wav`, {
      method: 'POST',
      headers: { 'content-length': '900000' },
    });
    sent.on('error', () => {});
    sent.write(new Uint8Array(400_000));
    const incoming = join(home, 'incoming');
    await expect.poll(() => readdir(incoming), { timeout: 30_000 }).toHaveLength(1);
    sent.destroy();
    await expect.poll(() => readdir(incoming), { timeout: 30_000 }).toHaveLength(0);
    expect(await filesKept()).toEqual(before);
    expect(await client.get('/api/songs')).toEqual(songs);
  });

  test('two at a time with the same bytes are two songs and one file', async () => {
    const bytes = Buffer.from('the same words');
    const both = await Promise.all([client.upload(bytes, 'a'), client.upload(bytes, 'b')]);
    expect(both.map(({ status }) => status)).toEqual([201, 201]);
    for (const { body } of both) await client.jobEnded(body.job!.id);
    expect((await filesKept()).filter((name) => name === both[0].body.version.sha256)).toHaveLength(1);
  });
});

/** A disk of 2 MiB, for root on Linux; null (said aloud) where there is no making one. */
async function tinyDisk(path: string): Promise<string | null> {
  await mkdir(path);
  try {
    await run('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', path]);
    return path;
  } catch {
    process.stderr.write('left out: a full disk, which needs the right to mount a small one here\n');
    return null;
  }
}

test('a full disk is said, costs nothing that was there, and is over when there is room again', async (context) => {
  await using folder = await scratchFolder();
  const disk = await tinyDisk(join(folder.path, 'disk'));
  if (disk === null) return context.skip();
  try {
    const server = await startServer({ port: 0, home: join(disk, 'home'), poolSize: 1 });
    try {
      const client = new Client(server.url);
      const small = (await client.upload(Buffer.from('small'), 'small.wav')).body;
      await client.jobEnded(small.job!.id);
      const song = await readFile(await writeMusic(join(folder.path, 'song.wav'), music(20)));
      const refused = await client.upload(song, 'song.wav');
      expect(refused.status).toBe(507);
      expect((refused.body as unknown as ApiError).error.code).toBe('DISK_FULL');
      expect(await readdir(join(disk, 'home', 'incoming'))).toEqual([]);
      expect((await client.version(small.version.id)).name).toBe('small.wav');
      expect((await client.upload(Buffer.from('small too'), 'small too.wav')).status).toBe(201);
    } finally {
      await server.close();
    }
  } finally {
    // Lazily: libsql lets go of a closed database's file only when its statements are garbage-collected.
    await run('umount', ['-l', disk]);
  }
});
