import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Run } from '../../src/audio/run.ts';
import { Pool } from '../../src/bench/pool.ts';

const workerPath = fileURLToPath(new URL('bench-pool-worker.mjs', import.meta.url));

describe('a pool of real threads', () => {
  let scratchPath: string;
  let pool: Pool;

  beforeEach(async () => {
    scratchPath = await mkdtemp(join(tmpdir(), 'everyroom-pool-'));
    pool = new Pool({ size: 1, scratchPath, workerPath });
  });

  afterEach(async () => {
    await pool.close();
    await rm(scratchPath, { recursive: true });
  });

  const run = (name: string, options: unknown = {}, how: Run = {}, timeLimitSeconds = 60): Promise<unknown> =>
    pool.run({ name, timeLimitSeconds }, { files: [], options }, how);

  /** Every misfortune must leave a pool that works and a folder with nothing in it. */
  async function expectWellAgain(): Promise<void> {
    expect(await run('add', { a: 1, b: 2 })).toBe(3);
    expect(await readdir(scratchPath)).toEqual([]);
  }

  test('hands back what the task gave, and its progress', async () => {
    const seen: number[] = [];
    expect(await run('steps', {}, { progress: (fraction) => seen.push(fraction) })).toBe('done');
    expect(seen).toEqual([0.25, 0.5, 1]);
    await expectWellAgain();
  });

  test('gives every run a folder of its own for temporary files and removes it', async () => {
    expect(await run('scratch')).toContain(scratchPath);
    await expectWellAgain();
  });

  test('an error for a person keeps its code on the way between threads', async () => {
    await expect(run('refuse')).rejects.toMatchObject({
      name: 'CodedError',
      code: 'SOUND_DAMAGED',
      message: 'No sound in it.',
    });
    await expectWellAgain();
  });

  test('cancelling ends a thread that is stuck inside WebAssembly', async () => {
    const stop = new AbortController();
    const stuck = run('spin', {}, { signal: stop.signal, progress: () => stop.abort() });
    await expect(stuck).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    await expectWellAgain();
  });

  test('a task that stops by itself when it is cancelled keeps its thread', async () => {
    const thread = await run('thread');
    const stop = new AbortController();
    const heeding = run('heed', {}, { signal: stop.signal, progress: () => stop.abort() });
    await expect(heeding).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    expect(await run('thread')).toBe(thread);
    await expectWellAgain();
  });

  test('closing stops what is running, and what waits', async () => {
    const [running, waiting] = [run('heed'), run('add', { a: 1, b: 1 })].map((each) =>
      each.catch(({ code }) => code),
    );
    await pool.close();
    expect([await running, await waiting]).toEqual(['JOB_CANCELLED', 'JOB_CANCELLED']);
    expect(await readdir(scratchPath)).toEqual([]);
  });

  test('when cancelling has ended nobody writes any more', async () => {
    const stop = new AbortController();
    const writing = run('scribble', {}, { signal: stop.signal, progress: () => stop.abort() });
    await expect(writing).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    await expectWellAgain();
  });

  test('cancelling takes a run out of the queue, and leaves the one before it alone', async () => {
    const [first, second] = [new AbortController(), new AbortController()];
    const running = run('spin', {}, { signal: first.signal, progress: () => second.abort() });
    const queued = run('add', { a: 1, b: 1 }, { signal: second.signal });
    await expect(queued).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    first.abort();
    await expect(running).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    await expectWellAgain();
  });

  test('a run that was cancelled before it began does nothing', async () => {
    await expect(run('exit', {}, { signal: AbortSignal.abort() })).rejects.toMatchObject({
      code: 'JOB_CANCELLED',
    });
    await expectWellAgain();
  });

  test('a run over its time limit is stopped and says so', async () => {
    await expect(run('spin', {}, {}, 0.2)).rejects.toMatchObject({ code: 'JOB_TIMED_OUT' });
    await expectWellAgain();
  });

  test.each(['exit', 'late'])('a thread that dies (%s) is a crash of that run only', async (how) => {
    await expect(run(how)).rejects.toMatchObject({ code: 'JOB_CRASHED' });
    await expectWellAgain();
  });

  test('a worker that cannot be loaded is a crash, not a wait without end', async () => {
    const broken = new Pool({ size: 1, scratchPath, workerPath: join(scratchPath, 'no-such-worker.mjs') });
    const lost = broken.run({ name: 'add', timeLimitSeconds: 60 }, { files: [], options: {} });
    await expect(lost).rejects.toMatchObject({ code: 'JOB_CRASHED' });
    await broken.close();
    await expectWellAgain();
  });
});
