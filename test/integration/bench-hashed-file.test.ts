import { appendFile, utimes, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { checkFile } from '../../src/bench/check-file.ts';
import { hashedFile } from '../../src/bench/hashed-file.ts';
import { Pool } from '../../src/bench/pool.ts';
import { openResults, type Results } from '../../src/bench/store/results.ts';
import { music, scratchFolder, writeMusic } from './server-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let pool: Pool;
let results: Results;

beforeAll(async () => {
  folder = await scratchFolder();
  pool = new Pool({ size: 2 });
  results = await openResults(join(folder.path, 'home'));
});

afterAll(async () => {
  await pool.close();
  await results.close();
  await folder[Symbol.asyncDispose]();
});

test('a file that is left alone is what was hashed; one that is written to is not, however small the change', async () => {
  const path = join(folder.path, 'bytes');
  await writeFile(path, 'abc');
  const file = hashedFile(path);
  // FIPS 180-2, B.1
  expect(await file.sha256).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  await file.verify();
  await writeFile(path, 'abd');
  // Not even a clock that stands still hides it: the inode's own time cannot be set.
  await utimes(path, 0, 0);
  await expect(file.verify()).rejects.toMatchObject({ code: 'FILE_CHANGED' });
});

test('a file that is not there is told by hashing it', async () => {
  const file = hashedFile(join(folder.path, 'nothing.wav'));
  await expect(file.sha256).rejects.toMatchObject({ code: 'FILE_NOT_FOUND' });
});

test.each([
  ['kept', () => results],
  ['not kept', () => null],
])('a song that grows while it is checked has no verdict; results %s', async (_, kept) => {
  const path = await writeMusic(join(folder.path, 'growing.wav'), music(2));
  let grown: Promise<void> | undefined;
  const onProgress = (stage: string) => {
    if (stage === 'measuring') grown ??= appendFile(path, 'more');
  };
  const checked = checkFile(path, { lossy: false, onProgress }, { pool, results: kept() });
  await expect(checked).rejects.toMatchObject({ code: 'FILE_CHANGED' });
  await expect(checked).rejects.toThrow(/growing\.wav/);
  await grown;
});

test('one thread or two say the same', async () => {
  const path = await writeMusic(join(folder.path, 'song.wav'), music(3));
  const one = new Pool({ size: 1 });
  try {
    const alone = await checkFile(path, { lossy: false }, { pool: one, results: null });
    const together = await checkFile(path, { lossy: false }, { pool, results: null });
    const crowded = await checkFile(path, { lossy: false }, { pool, results: null, othersWait: () => true });
    expect(together).toEqual(alone);
    expect(crowded).toEqual(alone);
  } finally {
    await one.close();
  }
});
