import { execFileSync } from 'node:child_process';

const told = new Set<string>();

/**
 * The path of an outside program that a test compares with, or null when this machine has none; then a line
 * says so once per test file, so that a check left out is never silent. Use with `test.skipIf(!outside('sox'))`.
 */
export function outside(program: string): string | null {
  try {
    return execFileSync('sh', ['-c', `command -v ${program}`], { encoding: 'utf8' }).trim();
  } catch {
    if (!told.has(program))
      process.stderr.write(`left out: checks against ${program}, which is not installed here\n`);
    told.add(program);
    return null;
  }
}
