import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';

const program = fileURLToPath(new URL('../../dist/program', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'program-loader-'));
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function help(path: string): string {
  const { stdout, status } = spawnSync(process.execPath, [join(path, 'main.js'), '--help'], {
    encoding: 'utf8',
  });
  expect(status).toBe(0);
  return stdout;
}

test('the program says the same with its byte code, with byte code cut short, and with none', () => {
  const copy = join(folder, 'program');
  cpSync(program, copy, { recursive: true });
  const kept = readdirSync(copy).filter((name) => name.endsWith('.cache'));
  expect(kept).toContain('main.body.js.cache');
  expect(kept).toContain('task-worker.body.js.cache');
  const whole = help(copy);
  expect(whole).toContain('everyroom check song.wav');
  for (const name of kept) writeFileSync(join(copy, name), readFileSync(join(copy, name)).subarray(0, 1000));
  expect(help(copy)).toBe(whole);
  for (const name of kept) rmSync(join(copy, name));
  expect(help(copy)).toBe(whole);
});
