// What a program and all that it starts take together: memory at its highest, and processor time.
import { spawn } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';

const everyMilliseconds = 200;

/** A process and its descendants; Linux only. */
function tree(pid) {
  try {
    const children = readdirSync(`/proc/${pid}/task`).flatMap((thread) =>
      readFileSync(`/proc/${pid}/task/${thread}/children`, 'utf8').split(' ').filter(Boolean).map(Number),
    );
    return [pid, ...children.flatMap(tree)];
  } catch {
    // It ended while it was looked at.
    return [];
  }
}

/** Memory of one process in KiB, shared pages shared out among those who have them (PSS). */
function memoryKib(pid) {
  try {
    return Number(/^Pss:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8'))?.[1] ?? 0);
  } catch {
    return 0;
  }
}

/**
 * Runs a program to its end: wall and processor seconds (user and system, children included), and the highest memory
 * of the whole tree in GiB, looked at five times a second. Rejects when the exit status is above `worst`.
 */
export async function runTree(command, args, { env = {}, worst = 0 } = {}) {
  const start = performance.now();
  // The shell tells what its children took; POSIX has no other way that needs no program of its own.
  const child = spawn('sh', ['-c', '"$@"; status=$?; times >&2; exit $status', 'sh', command, ...args], {
    env: { ...process.env, ...env },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let said = '';
  child.stderr.setEncoding('utf8').on('data', (text) => {
    said = (said + text).slice(-4000);
  });
  let peakKib = 0;
  const looking = setInterval(() => {
    peakKib = Math.max(
      peakKib,
      tree(child.pid).reduce((sum, pid) => sum + memoryKib(pid), 0),
    );
  }, everyMilliseconds);
  const status = await new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', resolve);
  });
  clearInterval(looking);
  const seconds = (performance.now() - start) / 1000;
  if (status === null || status > worst) throw new Error(`${command} ended with ${status}: ${said}`);
  const [user, system] = said
    .trim()
    .split('\n')
    .at(-1)
    .split(/\s+/)
    .map((time) => 60 * Number.parseFloat(time) + Number.parseFloat(time.split('m')[1]));
  return { seconds, cpuSeconds: user + system, peakGib: peakKib / 2 ** 20 };
}
