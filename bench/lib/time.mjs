// Five runs each, taken in turn so that a busy moment hits both sides; medians compared.
import { spawnSync } from 'node:child_process';
import { performance } from 'node:perf_hooks';

export const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** Seconds that a program takes from start to end; throws when it fails (exit status above `worst`). */
export function secondsOf(command, args, { env = {}, worst = 0 } = {}) {
  const start = performance.now();
  const { status, stderr, error } = spawnSync(command, args, {
    env: { ...process.env, ...env },
    maxBuffer: 1 << 28,
  });
  if (error) throw error;
  if (status === null || status > worst) throw new Error(`${command} ended with ${status}: ${stderr}`);
  return (performance.now() - start) / 1000;
}

/** Runs both sides in turn; each is a function that gives seconds (or a promise of them). */
export async function race(ours, theirs, runs = 5) {
  const [a, b] = [[], []];
  for (let i = 0; i < runs; i++) {
    a.push(await ours());
    b.push(await theirs());
  }
  return { ours: median(a), theirs: median(b), ratio: median(a) / median(b) };
}

/** One line of the result: what, the ratio, the target, the medians behind it. */
export function tell(title, { ours, theirs, ratio }, target) {
  process.stdout.write(
    `${title}: ${ratio.toFixed(2)}x (target ${target}); ${ours.toFixed(3)} s against ${theirs.toFixed(3)} s\n`,
  );
}
