import { mkdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { Run } from '../../audio/run.ts';
import type { SameSong, VersionChange } from '../../compare/change-result.ts';
import { clockTime, count, list, sentenceCase, size } from '../../judge/wording.ts';
import { audioFilePath } from '../audio-store.ts';
import type { Home } from '../home.ts';
import { randomLetters } from '../ids.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { ShootoutRecord, ShootoutSection } from '../store/shootouts.ts';
import { changeTask } from '../tasks/change.ts';
import { type FairCutsMade, type FairCutsOptions, fairCutsTask } from '../tasks/fair-cuts.ts';

export interface FairMasters {
  /** What all have of the sections. */
  readonly sections: readonly ShootoutSection[];
  readonly cuts: readonly { readonly name: string; readonly section: number; readonly stimulus: string }[];
  readonly notes: readonly string[];
}

/** How a version lies over the mix, and what changed. Kept, like every heavy work. */
export function changeFromMix(
  home: Home,
  workshop: Workshop,
  mix: { readonly sha256: string },
  version: { readonly sha256: string },
  run: Run = {},
): Promise<VersionChange> {
  const file = ({ sha256 }: { sha256: string }) => ({ path: audioFilePath(home, sha256), sha256 });
  return runTask(changeTask, { files: [file(mix), file(version)], options: {} }, workshop, run);
}

/** Where a sound lies over itself. */
export const still: SameSong['alignment'] = {
  offsetSeconds: 0,
  offsetSamples: 0,
  driftPpm: 0,
  scatterSamples: 0,
  inverted: [false],
  swapped: false,
};

/**
 * Makes the masters of a shoot-out fair and puts the cuts on the disk under names of chance, whole or not at all. For a
 * rating of damage the mix is cut with them as the reference, and the anchors are made of it.
 */
export async function makeMastersFair(
  home: Home,
  workshop: Workshop,
  { id, mix, entries, sections, seed, kind, question }: ShootoutRecord,
  mixSeconds: number,
): Promise<FairMasters> {
  const damage = kind === 'rating' && question === 'damage';
  const laid: {
    stimulus: string;
    sha256: string;
    alignment: SameSong['alignment'];
    shared: SameSong['length']['shared'];
  }[] = damage
    ? [
        {
          stimulus: 'reference',
          sha256: mix.sha256,
          alignment: still,
          shared: { startSeconds: 0, endSeconds: mixSeconds },
        },
      ]
    : [];
  for (const { id: stimulus, sha256, maker } of entries) {
    const { same } = await changeFromMix(home, workshop, mix, { sha256 });
    if (!same) throw new CodedError('MASTER_REFUSED', `The master of ${maker} is no master of this mix.`);
    laid.push({ stimulus, sha256, alignment: same.alignment, shared: same.length.shared });
  }
  const fileNames = () => sections.map(() => `${randomLetters()}.wav`);
  const names = laid.map(fileNames);
  const anchors = damage ? { low: fileNames(), mid: fileNames() } : null;
  const place = join(home.shootoutsPath, id);
  const beside = join(home.incomingPath, `fair-${randomLetters()}`);
  await mkdir(beside, { mode: 0o700 });
  try {
    const made = await workshop.pool.run<FairCutsOptions, FairCutsMade>(fairCutsTask, {
      files: laid.map(({ sha256 }) => ({ path: audioFilePath(home, sha256), sha256 })),
      options: {
        masters: laid.map(({ alignment, shared }) => ({ alignment, shared })),
        sections,
        seed,
        folder: beside,
        names,
        anchors,
      },
    });
    await rm(place, { recursive: true, force: true });
    await rename(beside, place);
    const stimuli = [
      ...laid.map(({ stimulus }, m) => ({ stimulus, own: names[m] })),
      ...(anchors
        ? [
            { stimulus: 'low-anchor', own: anchors.low },
            { stimulus: 'mid-anchor', own: anchors.mid },
          ]
        : []),
    ];
    return {
      sections: made.sections.map(({ asked, ...span }) => ({ ...span, label: sections[asked].label })),
      cuts: stimuli.flatMap(({ stimulus, own }) =>
        made.sections.map((_, section) => ({ name: own[section], section, stimulus })),
      ),
      notes: fairNotes(sections, made),
    };
  } finally {
    await rm(beside, { recursive: true, force: true });
  }
}

function fairNotes(
  asked: readonly ShootoutSection[],
  { sections, gainsDb, sampleRate }: FairCutsMade,
): string[] {
  const kept = new Set(sections.map((section) => section.asked));
  const leftOut = asked.filter((_, i) => !kept.has(i));
  const most = Math.min(...gainsDb.flat());
  const least = Math.max(...gainsDb.flat());
  return [
    `${sentenceCase(count(sections.length, 'section'))} of every master, the same to the sample, at ${sampleRate} Hz and 24 bits.`,
    `Equally loud in every section: turned down by ${size(least, 'dB')} to ${size(most, 'dB')}, nothing up.`,
    ...(leftOut.length > 0
      ? [
          `Left out, because not all masters have enough of it: the section at ${list(leftOut.map(({ startSeconds }) => clockTime(startSeconds)))}.`,
        ]
      : []),
  ];
}
