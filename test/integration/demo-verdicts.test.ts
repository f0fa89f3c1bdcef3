import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { DemoFault, DemoIndex } from '../../demo/demo-index.ts';
import { checkFile } from '../../src/bench/check-file.ts';
import { Pool } from '../../src/bench/pool.ts';

// The players run in threads, which exist only compiled.
const { renderDemo } = (await import(
  new URL('../../dist/demo/render-demo.js', import.meta.url).href
)) as typeof import('../../demo/render-demo.ts');

const ruleOf: Record<DemoFault, string> = {
  overs: 'intersample-overs',
  bassy: 'too-bassy',
  thin: 'over-limited',
};

let folder: string;
let index: DemoIndex;
const pool = new Pool();

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-verdicts-'));
  index = await renderDemo(folder);
}, 300_000);
afterAll(async () => {
  await pool.close();
  await rm(folder, { recursive: true, force: true });
});

/** Ids of the findings of a weight on one file, measured but not coded. */
async function found(file: string, kind: 'mix' | 'master' | 'reference') {
  const { report } = await checkFile(join(folder, file), { lossy: false, kind }, { pool, results: null });
  const ids = (severity: string) => report.findings.filter((f) => f.severity === severity).map((f) => f.id);
  return { mend: ids('mend'), look: ids('look') };
}

test('each fault built into a master is found by its own rule, and nothing else is to mend', async () => {
  for (const song of index.songs)
    for (const { file, kind, note } of song.versions) {
      if (kind !== 'master' || note.fault === null) continue;
      expect((await found(file, kind)).mend, file).toEqual([ruleOf[note.fault]]);
    }
}, 300_000);

test('good masters and references have nothing to mend and nothing to look at; the mixes can be finished', async () => {
  for (const song of index.songs)
    for (const { file, kind, note } of song.versions)
      if (note.fault === null) expect(await found(file, kind), file).toEqual({ mend: [], look: [] });
  for (const { file } of index.references)
    expect(await found(file, 'reference'), file).toEqual({ mend: [], look: [] });
}, 300_000);
