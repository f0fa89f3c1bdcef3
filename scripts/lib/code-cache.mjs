// Byte code for dist/program, made by running what `check` runs, in a process of its own: `node scripts/lib/code-cache.mjs`.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MessageChannel } from 'node:worker_threads';
import { root } from './root.mjs';

const program = join(root, 'dist/program');
const rate = 48000;
const seconds = 5;

/** A WAV file of 24-bit stereo noise that comes and goes twice a second. */
function noise() {
  const bytes = Buffer.alloc(44 + rate * seconds * 6);
  bytes.write('RIFF');
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(2, 22);
  bytes.writeUInt32LE(rate, 24);
  bytes.writeUInt32LE(rate * 6, 28);
  bytes.writeUInt16LE(6, 32);
  bytes.writeUInt16LE(24, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(bytes.length - 44, 40);
  let seed = 1;
  for (let at = 44, frame = 0; at < bytes.length; at += 3, frame += 0.5) {
    seed = (Math.imul(seed, 1664525) + 1013904223) | 0;
    bytes.writeIntLE(((seed >> 9) * (1 - (((frame / rate) * 2) % 1))) | 0, at, 3);
  }
  return bytes;
}

const { load, byteCodes } = createRequire(import.meta.url)(join(program, 'loader.cjs'));
const folder = mkdtempSync(join(tmpdir(), 'everyroom-build-'));
try {
  const path = join(folder, 'noise.wav');
  writeFileSync(path, noise());
  const runTask = load('task-worker.body.js').default;
  for (const lane of [null, 0, 1]) {
    const { port1, port2 } = new MessageChannel();
    const input = { files: [{ path }], options: {} };
    const stop = new Int32Array(new SharedArrayBuffer(4));
    const answer = await runTask({ task: 'measure', input, lane, scratchPath: folder, stop, port: port1 });
    if (!answer.ok) throw new Error(answer.message);
    port2.close();
  }
  process.argv = [process.argv[0], join(program, 'main.js'), 'check', '--no-lossy', '--fresh', path];
  await load('main.body.js').finished;
  for (const [name, code] of byteCodes()) writeFileSync(join(program, `${name}.cache`), code);
  process.exitCode = 0;
} finally {
  rmSync(folder, { recursive: true, force: true });
}
