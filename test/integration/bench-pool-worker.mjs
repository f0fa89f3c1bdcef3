// Tasks that misbehave on purpose, for bench-pool.test.ts; the real worker with other tasks in it.
import { mkdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { threadId } from 'node:worker_threads';

// (module (func (export "spin") (loop (br 0)))): WebAssembly that never returns.
const endless = new Uint8Array([
  0, 97, 115, 109, 1, 0, 0, 0, 1, 4, 1, 96, 0, 0, 3, 2, 1, 0, 7, 8, 1, 4, 115, 112, 105, 110, 0, 0, 10, 9, 1,
  7, 0, 3, 64, 12, 0, 11, 11,
]);

const tasks = {
  add: ({ a, b }) => a + b,
  scratch: () => {
    mkdirSync(join(tmpdir(), 'deep'));
    writeFileSync(join(tmpdir(), 'deep', 'file'), 'x');
    return tmpdir();
  },
  spin: async (_options, port) => {
    writeFileSync(join(tmpdir(), 'half-done'), 'x');
    port.postMessage(0.5);
    const { instance } = await WebAssembly.instantiate(endless);
    instance.exports.spin();
  },
  scribble: (_options, port) => {
    port.postMessage(0.5);
    for (let i = 0; ; i++) writeFileSync(join(tmpdir(), `${i}`), 'x');
  },
  heed: async (_options, port, stop) => {
    port.postMessage(0.5);
    while (Atomics.load(stop, 0) === 0) await sleep(5);
  },
  thread: () => threadId,
  exit: () => process.exit(3),
  late: () =>
    new Promise(() => {
      setImmediate(() => {
        throw new Error('thrown where nobody waits');
      });
    }),
  steps: async (_options, port) => {
    for (const fraction of [0.25, 0.5, 1]) port.postMessage(fraction);
    return 'done';
  },
};

export default async function run({ task, input, scratchPath, stop, port }) {
  process.env.TMPDIR = scratchPath;
  try {
    if (task === 'refuse') return { ok: false, code: 'SOUND_DAMAGED', message: 'No sound in it.' };
    return { ok: true, output: await tasks[task](input.options, port, stop) };
  } finally {
    port.close();
  }
}
