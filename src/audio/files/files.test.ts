import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { CodedError } from '../coded-error.ts';
import { fileError } from './file-error.ts';
import { hashFile } from './hash-file.ts';
import { openSound } from './open-sound.ts';
import { readSound } from './read-sound.ts';
import { writeWav } from './write-sound.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sound-files-'));
});
afterEach(() => rmSync(folder, { recursive: true }));
const at = (name: string) => join(folder, name);

const sound = {
  sampleRate: 44100,
  channels: [0, 1].map((c) =>
    Float32Array.from({ length: 70_001 }, (_, i) => ((i * (c + 1)) % 200) / 128 - 0.75),
  ),
};

describe('reading', () => {
  test('what was written comes back, in blocks that own their memory', async () => {
    await writeWav(at('a.wav'), sound, { sampleFormat: 'f32' });
    expect((await readSound(at('a.wav'))).pcm).toEqual(sound);
    const open = await openSound(at('a.wav'));
    const lengths: number[] = [];
    for await (const block of open.blocks()) {
      lengths.push(block.channels[0].length);
      const buffers = block.channels.map((channel) => channel.buffer);
      expect(new Set(buffers).size).toBe(2);
      structuredClone(block, { transfer: buffers as ArrayBuffer[] });
    }
    await open.close();
    expect(lengths).toEqual([65536, 70_001 - 65536]);
  });

  test.each([
    ['a name that is not there', (): string => at('none.wav'), 'FILE_NOT_FOUND'],
    ['a folder', (): string => folder, 'FILE_IS_DIRECTORY'],
    [
      'an empty file',
      (): string => {
        writeFileSync(at('empty.wav'), '');
        return at('empty.wav');
      },
      'FILE_EMPTY',
    ],
    ['a device', (): string => '/dev/null', 'SOUND_NOT_RECOGNISED'],
    [
      'a file used as a folder',
      (): string => {
        writeFileSync(at('file'), 'x');
        return at('file/song.wav');
      },
      'FILE_NOT_FOUND',
    ],
  ] as const)('%s', async (_, make, code) => {
    const path = make();
    for (const read of [openSound, readSound, hashFile]) {
      const error = await read(path).catch((thrown: unknown) => thrown);
      expect(error).toBeInstanceOf(CodedError);
      expect(error).toMatchObject({ code });
      expect((error as CodedError).message).not.toContain(path);
    }
  });

  test.each([
    ['EACCES', 'FILE_NO_PERMISSION', 'FILE_NO_PERMISSION'],
    ['EPERM', 'FILE_NO_PERMISSION', 'FILE_NO_PERMISSION'],
    ['ENOSPC', 'DISK_FULL', 'DISK_FULL'],
    ['EISDIR', 'FILE_IS_DIRECTORY', 'FILE_IS_DIRECTORY'],
    ['EIO', 'FILE_READ_FAILED', 'FILE_WRITE_FAILED'],
  ])('%s of the system is put into words', (code, reading, writing) => {
    const thrown = Object.assign(new Error(`${code}: refused`), { code });
    expect(fileError(thrown, '/music/song.wav', 'read')).toMatchObject({ code: reading });
    expect(fileError(thrown, '/music/song.wav', 'write')).toMatchObject({ code: writing });
    expect((fileError(thrown, '/music/song.wav', 'read') as Error).message).toMatch(/^“song\.wav” .*\.$/);
  });

  test('a file whose tags are broken is still read', async () => {
    await writeWav(at('tagged.wav'), sound, { sampleFormat: 's16' });
    const good = readFileSync(at('tagged.wav'));
    await fc.assert(
      fc.asyncProperty(
        fc.uint8Array({ maxLength: 200 }),
        fc.nat({ max: 2 ** 32 - 1 }),
        async (junk, size) => {
          const head = Buffer.alloc(8);
          head.write('LIST');
          head.writeUInt32LE(size, 4);
          writeFileSync(at('tagged.wav'), Buffer.concat([good, head, Buffer.from('INFOINAM'), junk]));
          expect((await readSound(at('tagged.wav'))).info.frames).toBe(70_001);
        },
      ),
      { numRuns: 40 },
    );
  });

  test('a cancelled read ends with the reason', async () => {
    await writeWav(at('a.wav'), sound, { sampleFormat: 's16' });
    const signal = AbortSignal.abort(new Error('changed my mind'));
    for (const read of [openSound, readSound, hashFile])
      await expect(read(at('a.wav'), { signal })).rejects.toThrow('changed my mind');
  });
});

test('the hash is that of the bytes', async () => {
  const bytes = Buffer.alloc(3_000_001, 'sound');
  writeFileSync(at('bytes'), bytes);
  expect(await hashFile(at('bytes'))).toBe(createHash('sha256').update(bytes).digest('hex'));
});

describe('writing', () => {
  test('leaves one file, with a pad byte after an odd number of data bytes', async () => {
    const odd = { sampleRate: 8000, channels: [Float32Array.of(0.5, 0.25, -0.5)] };
    await writeWav(at('odd.wav'), odd, { sampleFormat: 's24' });
    expect(readdirSync(folder)).toEqual(['odd.wav']);
    expect(readFileSync(at('odd.wav')).length).toBe(44 + 9 + 1);
    expect((await readSound(at('odd.wav'))).pcm).toEqual(odd);
  });

  test('replaces a file only when the new one is whole', async () => {
    writeFileSync(at('old.wav'), 'the old one');
    const stop = new AbortController();
    const run = { signal: stop.signal, progress: () => stop.abort(new Error('stopped')) };
    await expect(writeWav(at('old.wav'), sound, { sampleFormat: 's16' }, run)).rejects.toThrow('stopped');
    expect(readFileSync(at('old.wav'), 'utf8')).toBe('the old one');
    expect(readdirSync(folder)).toEqual(['old.wav']);
  });

  test('says what is wrong, naming the file that was asked for', async () => {
    mkdirSync(at('folder.wav'));
    for (const [path, code] of [
      [at('no/such/folder/a.wav'), 'FILE_NOT_FOUND'],
      [at('folder.wav'), 'FILE_IS_DIRECTORY'],
    ]) {
      const error = await writeWav(path, sound, { sampleFormat: 's16' }).catch((thrown: unknown) => thrown);
      expect(error).toMatchObject({ code });
    }
    expect(readdirSync(folder)).toEqual(['folder.wav']);
  });
});
