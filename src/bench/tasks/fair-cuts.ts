import { open } from 'node:fs/promises';
import { join } from 'node:path';
import { openSound } from '../../audio/files/open-sound.ts';
import { readSound } from '../../audio/files/read-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import type { Span } from '../../measure/span.ts';
import { anchorOf } from '../../shootout/anchors.ts';
import { ditheredTo24, plainWav } from '../../shootout/fair-file.ts';
import type { LaidMaster } from '../../shootout/fair-plan.ts';
import { makeFair } from '../../shootout/make-fair.ts';
import { SeededRandom } from '../../signal/seeded-random.ts';
import { storageError } from '../storage-error.ts';
import type { Task } from './task.ts';

export interface FairCutsOptions {
  /** Of each file, in the same order. */
  readonly masters: readonly Omit<LaidMaster, 'sampleRate'>[];
  readonly sections: readonly Span[];
  readonly seed: string;
  /** Where the cuts are written; it is there and empty. */
  readonly folder: string;
  /** names[file][section] */
  readonly names: readonly (readonly string[])[];
  /** For a rating of damage: names[section] of the low and the mid anchor, made of the first file. */
  readonly anchors: { readonly low: readonly string[]; readonly mid: readonly string[] } | null;
}

export interface FairCutsMade {
  readonly sampleRate: number;
  /** Those that were cut, and which of those asked for each of them is. */
  readonly sections: readonly (Span & { readonly asked: number })[];
  /** gainsDb[file][section] */
  readonly gainsDb: readonly (readonly number[])[];
}

/**
 * Makes masters fair to compare and writes the cuts, flushed; a section that not all have is left out and its names stay
 * unused. The result says what lies in a folder, so it is not to be kept.
 */
export const fairCutsTask: Task<FairCutsOptions, FairCutsMade> = {
  name: 'fair-cuts',
  version: 1,
  timeLimitSeconds: 30 * 60,
  async run({ files, options }, run) {
    const { masters, sections, seed, folder, names, anchors } = options;
    const opened = await Promise.all(files.map(({ path }) => infoOf(path)));
    const { plan, cuts } = await makeFair(
      masters.map((master, i) => ({
        ...master,
        ...opened[i],
        open: async () => (await readSound(files[i].path, { signal: run.signal })).pcm,
      })),
      sections,
      { seed },
      partOfRun(run, 0, anchors ? 0.7 : 0.95),
    );
    // What is kept lies inside what was asked for, to within a sample.
    const asked = plan.sections.map((kept) =>
      sections.findIndex(
        ({ startSeconds, endSeconds }) =>
          kept.startSeconds >= startSeconds - 1e-3 && kept.endSeconds <= endSeconds + 1e-3,
      ),
    );
    for (const [m, own] of cuts.entries())
      for (const [s, { wav }] of own.entries()) await write(join(folder, names[m][s]), wav);
    if (anchors)
      for (const [s] of plan.sections.entries()) {
        const { pcm } = await readSound(join(folder, names[0][s]), { signal: run.signal });
        for (const which of ['low', 'mid'] as const) {
          run.signal?.throwIfAborted();
          const random = new SeededRandom(`dither ${seed} ${which} ${s}`);
          const anchor = plainWav(ditheredTo24(anchorOf(pcm, which), 0, random));
          await write(join(folder, anchors[which][s]), anchor);
        }
        run.progress?.(0.7 + (0.25 * (s + 1)) / plan.sections.length);
      }
    return {
      sampleRate: plan.sampleRate,
      sections: plan.sections.map(({ startSeconds, endSeconds }, s) => ({
        startSeconds,
        endSeconds,
        asked: asked[s],
      })),
      gainsDb: cuts.map((own) => own.map(({ gainDb }) => gainDb)),
    };
  },
};

async function infoOf(path: string): Promise<{ sampleRate: number; channels: number }> {
  const { info, close } = await openSound(path);
  await close();
  return { sampleRate: info.sampleRate, channels: info.channels };
}

async function write(path: string, bytes: Uint8Array): Promise<void> {
  try {
    const file = await open(path, 'wx', 0o600);
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
  } catch (error) {
    throw storageError(error, 'The sound to be compared');
  }
}
