import { Worker } from 'node:worker_threads';
import type { PieceAnswer, PieceOrder } from './piece-worker.ts';

/** Told the share of one piece that is done. */
export type Report = (id: string, fraction: number) => void;

/**
 * Plays all pieces in `count` worker threads, each taking the next piece when it is free. Needs the compiled worker.
 * Rejects with the first failure or with `signal.reason`; by then the threads have ended.
 */
export async function playInWorkers(
  count: number,
  ids: readonly string[],
  folder: string,
  signal: AbortSignal | undefined,
  report: Report,
): Promise<void> {
  const waiting = [...ids];
  const workers: Worker[] = [];
  const one = () =>
    new Promise<void>((done, fail) => {
      const worker = new Worker(new URL('./piece-worker.js', import.meta.url));
      workers.push(worker);
      let id: string | undefined;
      const next = () => {
        id = waiting.shift();
        if (id === undefined) done();
        else worker.postMessage({ id, folder } satisfies PieceOrder);
      };
      worker.on('message', (answer: PieceAnswer) => {
        if (answer.kind === 'failed') fail(answer.error);
        else if (answer.kind === 'done') next();
        else if (id !== undefined) report(id, answer.fraction);
      });
      worker.on('error', fail);
      worker.on('exit', (code) => fail(new Error(`the player of '${id}' stopped (code ${code})`)));
      next();
    });
  const stopped = new Promise<never>((_, fail) => {
    signal?.addEventListener('abort', () => fail(signal.reason), { once: true });
  });
  try {
    signal?.throwIfAborted();
    await Promise.race([stopped, Promise.all(Array.from({ length: count }, one))]);
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}
