// What the benches of the catalogue share: places to keep one, songs to fill it with, workers to kill.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { findPostgres, Postgres } from '../../scripts/lib/postgres.mjs';
import { root } from '../../scripts/lib/root.mjs';

/** Imports a built file of the engine. */
export const built = (path) => import(pathToFileURL(join(root, 'dist/src', path)).href);

/** Runs `use` with each place a catalogue can be kept in; `at` opens it. */
export async function eachPlace(use) {
  const homePath = mkdtempSync(join(tmpdir(), 'everyroom-bench-'));
  try {
    await use({ name: 'SQLite', at: { homePath }, postgres: null });
  } finally {
    rmSync(homePath, { recursive: true, force: true });
  }
  if (!findPostgres()) {
    process.stdout.write('left out: the same in Postgres, which is not installed here\n');
    return;
  }
  // With its disk waited for, as it is in earnest.
  const postgres = await Postgres.start([]);
  try {
    await use({ name: 'Postgres', at: { databaseUrl: await postgres.database() }, postgres });
  } finally {
    await postgres.remove();
  }
}

/** Tiny songs, each of its own content: a twentieth of a second at 8 kHz. In folders of a thousand. */
export function tinySongs(folder, count) {
  const frames = 400;
  const bytes = Buffer.alloc(44 + 2 * frames);
  bytes.write('RIFF', 0, 'latin1');
  bytes.writeUInt32LE(36 + 2 * frames, 4);
  bytes.write('WAVEfmt ', 8, 'latin1');
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(8000, 24);
  bytes.writeUInt32LE(16000, 28);
  bytes.writeUInt16LE(2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36, 'latin1');
  bytes.writeUInt32LE(2 * frames, 40);
  for (let i = 0; i < frames; i++) bytes.writeInt16LE(Math.round(9000 * Math.sin(i / 3)), 44 + 2 * i);
  for (let i = 0; i < count; i++) {
    const inside = join(folder, String(Math.floor(i / 1000)));
    if (i % 1000 === 0) mkdirSync(inside, { recursive: true });
    bytes.writeInt32LE(i, 44);
    writeFileSync(join(inside, `${i}.wav`), bytes);
  }
}

/** A worker process with a short lease; resolves when it has begun. */
export async function worker({ databaseUrl, homePath }, { threads = 1, leaseMs = 3000 } = {}) {
  const program = join(root, 'test/integration/catalogue-worker.mjs');
  const { DATABASE_URL: _none, ...env } = process.env;
  const child = spawn(
    process.execPath,
    [program, String(threads), String(leaseMs), ...(homePath ? [homePath] : [])],
    {
      env: { ...env, ...(databaseUrl ? { DATABASE_URL: databaseUrl } : {}) },
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  );
  await once(child.stdout, 'data');
  return child;
}

/** Lists a folder as a run; gives its id. */
export async function listed(catalogue, folder) {
  const { ownEngine } = await built('catalogue/engine.js');
  const { listSongs, songSources } = await built('catalogue/work/list-songs.js');
  const engine = ownEngine();
  const about = { what: folder, profile: 'streaming', kind: 'master', lossy: false, engine };
  const id = await catalogue.runs.start({ ...about, listedBy: 'bench' });
  const sources = await songSources(folder, { changedSinceMs: null });
  await listSongs(catalogue, { id, engine }, sources, new AbortController().signal);
  return id;
}
