import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Pcm } from '../../src/audio/pcm.ts';
import type { Song } from '../../src/server/api.ts';
import type {
  Note,
  ReferenceSet,
  ReferenceSetDetail,
  Standing,
  Storage,
} from '../../src/server/keeping-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { whenTold } from './desk-support.ts';
import { Client, scratchFolder, writeMusic } from './server-support.ts';
import { hits } from './song-support.ts';

describe('the desk keeps', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let client: Client;
  const start = async () => {
    server = await startServer({ port: 0, home: join(folder.path, 'home') });
    client = new Client(server.url);
  };
  beforeAll(async () => {
    folder = await scratchFolder();
    await start();
  });
  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  /** Uploads and measures (without the lossy round trips, which nobody here asks about). */
  const put = async (name: string, pcm: Pcm, kind: string, songId?: string) => {
    const bytes = await readFile(await writeMusic(join(folder.path, name), pcm));
    const { body } = await client.upload(bytes, name, songId);
    await client.call('POST', `/api/jobs/${body.job!.id}/cancel`);
    await client.call('PATCH', `/api/versions/${body.version.id}`, { kind });
    const { body: job } = await client.call<{ id: string }>(
      'POST',
      `/api/versions/${body.version.id}/check`,
      {
        lossy: false,
      },
    );
    expect((await client.jobEnded(job.id)).state).toBe('done');
    return body;
  };

  test('sets of references with their spread, and says where a version stands', async () => {
    const { body: set } = await client.call<ReferenceSet>('POST', '/api/sets', { name: 'Evenings' });
    const { status } = await client.call('POST', '/api/sets', { name: 'evenings' });
    expect(status).toBe(400);
    const references = [];
    for (const seed of [1, 2])
      references.push(await put(`reference ${seed}.wav`, hits(8, { seed, bassGain: 0.3 }), 'reference'));
    const bassy = await put('bassy.wav', hits(8, { seed: 3, bassGain: 0.9 }), 'mix');
    for (const { version } of references)
      expect((await client.call('PUT', `/api/sets/${set.id}/members/${version.id}`)).status).toBe(200);
    expect((await client.call('PUT', `/api/sets/${set.id}/members/${bassy.version.id}`)).status).toBe(400);

    const detail = await client.get<ReferenceSetDetail>(`/api/sets/${set.id}`);
    expect(detail.members.map(({ name, checked }) => [name, checked])).toEqual([
      ['reference 1.wav', true],
      ['reference 2.wav', true],
    ]);
    expect(detail.whole.bands).toHaveLength(detail.whole.centresHz.length);
    expect(detail.whole.figures.plrDb.count).toBe(2);

    const standing = await client.get<Standing>(`/api/versions/${bassy.version.id}/standing?set=${set.id}`);
    expect(standing.headline).toMatch(
      /^Between \d+(\.\d)? and 1\d\d Hz you are \d+ dB above any of your references\./,
    );
    expect(standing.headline).toContain('Two references can hardly say what is usual');
    expect(standing.sections.length).toBeGreaterThan(0);

    // Deleting hides, and everything comes back.
    expect((await client.call('DELETE', `/api/sets/${set.id}`)).status).toBe(204);
    expect((await client.call('GET', `/api/sets/${set.id}`)).status).toBe(404);
    await client.call('POST', `/api/sets/${set.id}/restore`);
    await client.call('DELETE', `/api/versions/${references[0].version.id}`);
    expect((await client.get<ReferenceSet>(`/api/sets/${set.id}`)).members).toHaveLength(1);
    await client.call('POST', `/api/versions/${references[0].version.id}/restore`);
    expect((await client.get<ReferenceSet>(`/api/sets/${set.id}`)).members).toHaveLength(2);

    // What is printed of a version holds nothing of the references: neither their sound nor their names.
    const html = await client.get<string>(`/api/versions/${bassy.version.id}/report`);
    expect(html).not.toMatch(/<audio|data:audio|reference \d|Evenings/);
  });

  test('notes, and carries them to a later version by aligning it', async () => {
    const song = hits(12, { seed: 9 });
    const first = await put('dusk v1.wav', song, 'mix');
    const { body: note } = await client.call<Note>('POST', `/api/versions/${first.version.id}/notes`, {
      atSeconds: 7.25,
      text: ' esses ',
    });
    expect(note).toMatchObject({
      atSeconds: 7.25,
      text: 'esses',
      done: false,
      carriedFrom: null,
      doubt: null,
    });
    await client.call('POST', `/api/versions/${first.version.id}/notes`, {
      atSeconds: 0.2,
      text: 'count-in',
    });
    // The later version begins half a second later in the song.
    const cut = Math.round(0.5 * song.sampleRate);
    const later: Pcm = {
      ...song,
      channels: song.channels.map((samples) => samples.slice(cut).map((x) => x / 2)),
    };
    const second = await put('dusk v2.wav', later, 'mix', first.song.id);

    const notesOf = async (versionId: string) =>
      (await client.get<{ notes: Note[] }>(`/api/versions/${versionId}/notes`)).notes;
    const carried = await whenTold(
      client,
      () => notesOf(second.version.id),
      (notes) => notes.every(({ doubt }) => !doubt?.includes('still being found out')),
    );
    expect(carried.map(({ text }) => text)).toEqual(['count-in', 'esses']);
    expect(carried[1].atSeconds).toBeCloseTo(6.75, 3);
    expect(carried[1]).toMatchObject({ doubt: null, carriedFrom: { name: 'dusk v1.wav', atSeconds: 7.25 } });
    expect(carried[0]).toMatchObject({ atSeconds: 0, doubt: expect.stringContaining('begins later') });

    // Ticked off there, it is still open where it was written; put right by hand, it stays there.
    await client.call('PATCH', `/api/notes/${note.id}?version=${second.version.id}`, { done: true });
    await client.call('PATCH', `/api/notes/${note.id}?version=${second.version.id}`, { atSeconds: 6.9 });
    expect((await notesOf(second.version.id))[1]).toMatchObject({ done: true, atSeconds: 6.9, doubt: null });
    expect((await notesOf(first.version.id))[1]).toMatchObject({ done: false, atSeconds: 7.25 });

    await server.close();
    await start();
    expect((await notesOf(second.version.id))[1]).toMatchObject({ done: true, atSeconds: 6.9 });
    await client.call('DELETE', `/api/notes/${note.id}`);
    expect(await notesOf(second.version.id)).toHaveLength(1);
    await client.call('POST', `/api/notes/${note.id}/restore`);
    expect(await notesOf(second.version.id)).toHaveLength(2);
    const backward = { atSeconds: 3, endSeconds: 2, text: 'x' };
    expect((await client.call('POST', `/api/versions/${first.version.id}/notes`, backward)).status).toBe(400);
  });

  test('count of its storage, and clears what can be made anew', async () => {
    const { songs } = await client.get<{ songs: Song[] }>('/api/songs');
    const bytes = songs.flatMap(({ versions }) => versions).reduce((sum, version) => sum + version.bytes, 0);
    const before = await client.get<Storage>('/api/storage');
    expect(before).toMatchObject({ audioBytes: bytes, deletedBytes: 0, passageBytes: 0 });
    expect(before.databaseBytes).toBeGreaterThan(0);
    expect(before.freeBytes).toBeGreaterThan(0);
    const [version] = songs[0].versions;
    const excerpt = `/api/versions/${version.id}/survive/mp3-320/excerpt?what=original&start=0&seconds=0.5`;
    expect((await client.call('GET', excerpt)).status).toBe(200);
    await client.call('DELETE', `/api/songs/${songs[0].id}`);
    const filled = await client.get<Storage>('/api/storage');
    expect(filled.passageBytes).toBeGreaterThan(0);
    expect(filled.deletedBytes).toBe(songs[0].versions.reduce((sum, each) => sum + each.bytes, 0));
    const { body } = await client.call<Storage>('POST', '/api/storage/clear', { what: ['passages'] });
    expect(body).toMatchObject({ passageBytes: 0, audioBytes: bytes });
  });
});
