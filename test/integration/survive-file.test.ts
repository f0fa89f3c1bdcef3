import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Run } from '../../src/audio/run.ts';
import { Pool } from '../../src/bench/pool.ts';
import { openResults, type Results } from '../../src/bench/store/results.ts';
import { type SurviveFileOptions, surviveFile } from '../../src/bench/survive-file.ts';
import type { Task, TaskInput } from '../../src/bench/tasks/task.ts';
import { parseFormats } from '../../src/survive/formats.ts';
import { type SurviveReport, surviveReportSchema } from '../../src/survive/survive-report.ts';
import { loudMusic } from '../conformance/lossy-sound.ts';
import { scratchFolder, writeMusic } from './server-support.ts';

/** A pool that counts what it is asked for and loses patience early. */
class WatchedPool extends Pool {
  readonly asked: string[] = [];
  timeLimitSeconds = Number.POSITIVE_INFINITY;

  override run<Options, Output>(
    task: Pick<Task<Options, Output>, 'name' | 'timeLimitSeconds'>,
    input: TaskInput<Options>,
    run?: Run,
  ): Promise<Output> {
    this.asked.push(task.name);
    const timeLimitSeconds = Math.min(task.timeLimitSeconds, this.timeLimitSeconds);
    return super.run({ name: task.name, timeLimitSeconds }, input, run);
  }
}

const formats = parseFormats('aac-96,mp3-128,opus-128,vorbis-160,sbc');

describe('what lossy coding does to a file', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let results: Results;
  let song: string;

  beforeAll(async () => {
    folder = await scratchFolder();
    results = await openResults(join(folder.path, 'home'));
    song = await writeMusic(join(folder.path, 'song.wav'), loudMusic(4));
  });

  afterAll(async () => {
    await results.close();
    await folder[Symbol.asyncDispose]();
  });

  const survive = (pool: Pool, options: SurviveFileOptions, kept: Results | null = null) =>
    surviveFile(song, options, { pool, results: kept });

  test('a report that keeps its promise, rows in the order asked for, and partial ones that only grow', async () => {
    await using pool = disposable(new WatchedPool());
    const partial: SurviveReport[] = [];
    const shares: number[] = [];
    const report = await survive(pool.it, {
      formats,
      findCeiling: true,
      onPartial: (soFar) => partial.push(soFar),
      onProgress: (_stage, fraction) => shares.push(fraction),
    });
    expect(surviveReportSchema.parse(JSON.parse(JSON.stringify(report)))).toEqual(report);
    expect(report.formats.map(({ formatId }) => formatId)).toEqual(formats.map(({ id }) => id));
    const counts = partial.map((soFar) => soFar.formats.length);
    expect(counts).toEqual(counts.toSorted((a, b) => a - b));
    expect(counts.at(-1)).toBe(formats.length);
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
    // Every format was really coded at the answer, and holds there.
    const { ceiling } = report;
    expect(ceiling).toMatchObject({ verified: true, failed: [], limitDbfs: 0 });
    for (const { points, verifiedDbtp } of ceiling!.formats) {
      expect(points.some(({ trimDb }) => trimDb === ceiling!.trimDb)).toBe(true);
      expect(verifiedDbtp).toBeLessThanOrEqual(0.001);
    }
    expect(ceiling!.encodes).toBe(ceiling!.formats.reduce((sum, { encodes }) => sum + encodes, 0));
  });

  test('a crash, a hang and a trap end their own rows, and the pool goes on with fresh threads', async () => {
    const workerPath = fileURLToPath(new URL('survive-faults-worker.mjs', import.meta.url));
    await using pool = disposable(new WatchedPool({ size: 2, workerPath }));
    pool.it.timeLimitSeconds = 12;
    const report = await survive(pool.it, { formats, findCeiling: true });
    expect(report.failed.map(({ formatId, code }) => [formatId, code])).toEqual([
      ['mp3-128', 'JOB_CRASHED'],
      ['opus-128', 'JOB_TIMED_OUT'],
      ['vorbis-160', 'JOB_CRASHED'],
    ]);
    expect(report.formats.map(({ formatId }) => formatId)).toEqual(['aac-96', 'sbc-328']);
    expect(report.ceiling!.verified).toBe(true);
    expect(report.headline).toContain('three formats could not be tried');
  });

  test('stopped in the middle and begun again, it codes only what was not finished', async () => {
    await using first = disposable(new WatchedPool({ size: 1 }));
    const stop = new AbortController();
    let finished = 0;
    const stopped = survive(
      first.it,
      {
        formats,
        signal: stop.signal,
        onPartial: (soFar) => {
          finished = Math.max(finished, soFar.formats.length);
          if (finished === 2) stop.abort();
        },
      },
      results,
    );
    await expect(stopped).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
    await using second = disposable(new WatchedPool());
    const report = await survive(second.it, { formats }, results);
    expect(report.formats.length).toBe(formats.length);
    // The row that was under way when it was stopped may have been finished, too.
    const again = second.it.asked.filter((name) => name === 'survive-format').length;
    expect(again).toBeLessThanOrEqual(formats.length - 2);
    expect(second.it.asked).not.toContain('measure');
    const idle = new Pool();
    await idle.close(); // a pool that can run nothing
    expect(await survive(idle, { formats }, results)).toEqual(report);
  });

  test('what no format can carry is told a row at a time; silence survives', async () => {
    await using pool = disposable(new Pool());
    const six = { sampleRate: 48_000, channels: Array.from({ length: 6 }, () => new Float32Array(4800)) };
    const path = await writeMusic(join(folder.path, 'six.wav'), six);
    const report = await surviveFile(path, { formats, findCeiling: true }, { pool: pool.it, results: null });
    expect(report.failed.map(({ code }) => code)).toEqual(formats.map(() => 'CODEC_UNSUITABLE'));
    expect(report.headline).toBe('No format could be tried.');
    expect(report.ceiling!.verified).toBe(false);
    const silence = { sampleRate: 44_100, channels: [new Float32Array(44_100), new Float32Array(44_100)] };
    const quiet = await surviveFile(
      await writeMusic(join(folder.path, 'silence.wav'), silence),
      { formats, findCeiling: true },
      { pool: pool.it, results: null },
    );
    expect(quiet.headline).toBe('Silence survives everything.');
    expect(quiet.ceiling).toMatchObject({ trimDb: 0, ceilingDbtp: null, verified: true });
  });
});

function disposable<P extends Pool>(it: P): AsyncDisposable & { readonly it: P } {
  return { it, [Symbol.asyncDispose]: () => it.close() };
}
