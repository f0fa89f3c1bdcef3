import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readdir, readFile, watch, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import type { DeliveryResult } from '../../src/deliver/delivery-result.ts';
import { readRecord } from '../../src/deliver/record/record.ts';
import { recordOf, sumsOf, writeSongs } from '../delivery-support.ts';
import { everyroom } from './cli-run.ts';
import { scratchFolder } from './server-support.ts';

const main = fileURLToPath(new URL('../../dist/program/main.js', import.meta.url));

test('deliver prints an example that it takes itself, and says what a record lacks', async () => {
  await using scratch = await scratchFolder();
  const env = { EVERYROOM_HOME: join(scratch.path, 'home') };
  const { stdout } = await everyroom(['deliver', '--example'], { env });
  expect(readRecord(JSON.parse(stdout)).songs).toHaveLength(3);
  await writeSongs(scratch.path);
  const record = join(scratch.path, 'record.json');
  await writeFile(record, JSON.stringify({ ...recordOf(), barcode: '', profiles: ['hi-res'] }));
  const dry = await everyroom(['deliver', record, '--dry-run'], { env });
  expect(dry.code).toBe(1);
  expect(dry.stdout).toContain('mend: The record has no UPC or EAN');
  expect(dry.stdout).toContain('hi-res/02 Ferry Light, ebb.wav');
  await writeFile(record, '{ "version": 1, ');
  const broken = await everyroom(['deliver', record, '--dry-run'], { env });
  expect([broken.code, broken.stderr]).toEqual([2, expect.stringContaining('(RECORD_INVALID)')]);
});

test('killed in the middle and started again, it ends with the same bytes', async () => {
  await using scratch = await scratchFolder();
  const env = { EVERYROOM_HOME: join(scratch.path, 'home') };
  await writeSongs(scratch.path);
  const record = join(scratch.path, 'record.json');
  await writeFile(record, JSON.stringify({ ...recordOf(), profiles: ['streaming'] }));
  const [whole, killed] = [join(scratch.path, 'whole'), join(scratch.path, 'killed')];
  const { code, stdout } = await everyroom(['deliver', record, '-o', whole, '--json'], { env });
  expect(code).toBe(0);
  expect((JSON.parse(stdout) as DeliveryResult).state).toBe('done');

  const child = spawn(process.execPath, [main, 'deliver', record, '-o', killed], {
    env: { ...process.env, ...env },
    stdio: 'ignore',
  });
  await firstFileIn(killed, scratch.path);
  child.kill('SIGKILL');
  await once(child, 'close');
  const visible = (await readdir(killed)).filter((name) => !name.startsWith('.'));
  expect(visible).not.toContain('SHA256SUMS');
  expect((await everyroom(['deliver', record, '-o', killed], { env })).code).toBe(0);
  expect(await sumsOf(killed)).toEqual(await sumsOf(whole));
  expect((await readdir(killed)).filter((name) => name.startsWith('.'))).toEqual([]);
}, 60_000);

/** Waits until the journal of a delivery tells of a file that is made. */
async function firstFileIn(folder: string, parent: string): Promise<void> {
  const told = async () =>
    /"files":\{"/.test(
      await readFile(join(folder, '.everyroom-delivery/journal.json'), 'utf8').catch(() => ''),
    );
  for await (const _change of watch(parent, { recursive: true })) if (await told()) return;
}
