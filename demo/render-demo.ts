import { randomUUID } from 'node:crypto';
import { mkdir, readdir, rename, rm, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Run } from '../src/audio/run.ts';
import type { DemoIndex } from './demo-index.ts';
import { references } from './references/index.ts';
import { pieceIds, renderPiece } from './render-piece.ts';
import { referenceFile, renderingsOf } from './renderings.ts';
import { record, songs } from './songs/index.ts';
import { playInWorkers, type Report } from './worker-pool.ts';

/** The index of the demo record; known without playing a note. */
export function demoIndex(): DemoIndex {
  return {
    record,
    songs: songs.map((song) => ({
      id: song.id,
      title: song.title,
      artist: song.artist,
      versions: renderingsOf(song).map(({ version }) => version),
    })),
    references: references.map((piece) => ({
      title: piece.title,
      artist: piece.artist,
      file: referenceFile(piece),
    })),
  };
}

/**
 * Plays the demo record and its references and writes them (WAV, 24 bit) with `index.json` into `outDir`, which is made
 * if missing. Files are finished in a folder of their own inside `outDir` and moved into place at the end, the index
 * last: where there is an index, all that it names is there. Files of other names are left alone. The sound depends on
 * nothing but the code. Rejects with `run.signal.reason` when aborted, leaving nothing behind.
 */
export async function renderDemo(outDir: string, run: Run = {}): Promise<DemoIndex> {
  run.signal?.throwIfAborted();
  const index = demoIndex();
  const making = join(outDir, `.making-${randomUUID()}`);
  await mkdir(making, { recursive: true });
  try {
    const shares = new Map<string, number>();
    const report = (id: string, fraction: number) => {
      shares.set(id, fraction);
      let done = 0;
      for (const piece of pieceIds) done += weightOf(piece) * (shares.get(piece) ?? 0);
      run.progress?.(Math.min(1, done / pieceIds.reduce((sum, piece) => sum + weightOf(piece), 0)));
    };
    await playAll(making, run.signal, report);
    await writeFile(join(making, 'index.json'), `${JSON.stringify(index, null, 2)}\n`);
    const made = (await readdir(making)).filter((name) => name !== 'index.json');
    await rm(join(outDir, 'index.json'), { force: true });
    for (const name of [...made, 'index.json']) await rename(join(making, name), join(outDir, name));
  } finally {
    await rm(making, { recursive: true, force: true });
  }
  return index;
}

/** A song has five files, a reference is shorter and has one: about one to five. */
function weightOf(id: string): number {
  return songs.some((song) => song.id === id) ? 5 : 1;
}

/** Two worker threads where the compiled worker is at hand (that is, when this file runs compiled itself), else one after another. */
async function playAll(folder: string, signal: AbortSignal | undefined, report: Report): Promise<void> {
  if (import.meta.url.endsWith('.js')) {
    await playInWorkers(2, pieceIds, folder, signal, report);
    return;
  }
  for (const id of pieceIds) {
    // The event loop gets its turn between pieces.
    await new Promise((done) => setImmediate(done));
    await renderPiece(id, folder, { signal, progress: (fraction) => report(id, fraction) });
  }
}

if (process.argv[1] && import.meta.url === pathToFileURL(resolve(process.argv[1])).href) {
  const outDir = process.argv[2];
  if (!outDir) {
    process.stderr.write('usage: node render-demo.js OUTDIR\n');
    process.exitCode = 2;
  } else {
    let last = -1;
    await renderDemo(outDir, {
      progress: (fraction) => {
        const percent = Math.floor(20 * fraction) * 5;
        if (percent > last) process.stderr.write(`playing the demo record: ${percent} %\n`);
        last = Math.max(last, percent);
      },
    });
  }
}
