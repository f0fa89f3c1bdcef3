import { mkdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { Span } from '../../measure/span.ts';
import { audioFilePath } from '../audio-store.ts';
import type { Home } from '../home.ts';
import { randomLetters } from '../ids.ts';
import { runTask, type Workshop } from '../run-task.ts';
import { still } from '../shootout/fair-masters.ts';
import type { WalkRecord, WalkSounds } from '../store/walks.ts';
import { type FairCutsMade, type FairCutsOptions, fairCutsTask } from '../tasks/fair-cuts.ts';
import { type Measured, measureTask } from '../tasks/measure.ts';

/** Longer ones make a page that is carried along too heavy for a phone, and tell no more (heuristic). */
const longestSeconds = 15;
/** Raised when excerpts are cut otherwise. */
const cutting = 1;

/** What the excerpts of a walk would be made of now. */
export function soundsMadeOf({ references, version }: WalkRecord): string {
  return JSON.stringify([cutting, ...references.map(({ sha256 }) => sha256), version.sha256]);
}

/**
 * Cuts the loudest part of every song of a walk and makes all equally loud, as masters of a shoot-out are: nothing turned up, none
 * above −1 dBTP, within 0.1 LU. Whole or not at all. CodedError NOT_FOUND when a reference is gone.
 */
export async function makeWalkSounds(home: Home, workshop: Workshop, walk: WalkRecord): Promise<WalkSounds> {
  const files = [...walk.references, walk.version].map(({ sha256, name }) => {
    if (sha256 === null) throw new CodedError('NOT_FOUND', `It cannot be heard any more: ${name}.`);
    return { path: audioFilePath(home, sha256), sha256 };
  });
  const measured: Measured[] = [];
  for (const file of files)
    measured.push(await runTask(measureTask, { files: [file], options: {} }, workshop));
  const seconds = Math.min(longestSeconds, ...measured.map(({ measurement }) => measurement.seconds));
  const handles = files.map(() => randomLetters());
  const place = join(home.walksPath, walk.id);
  const beside = join(home.incomingPath, `walk-${randomLetters()}`);
  await mkdir(beside, { mode: 0o700 });
  try {
    const made = await workshop.pool.run<FairCutsOptions, FairCutsMade>(fairCutsTask, {
      files,
      options: {
        // On one clock that begins where each excerpt does.
        masters: measured.map(({ measurement }) => ({
          alignment: { ...still, offsetSeconds: loudestPart(measurement, seconds).startSeconds },
          shared: { startSeconds: 0, endSeconds: seconds },
        })),
        sections: [{ startSeconds: 0, endSeconds: seconds }],
        seed: randomLetters(),
        folder: beside,
        names: handles.map((handle) => [`${handle}.wav`]),
        anchors: null,
      },
    });
    await rm(place, { recursive: true, force: true });
    await rename(beside, place);
    const [section] = made.sections;
    return { madeOf: soundsMadeOf(walk), handles, seconds: section.endSeconds - section.startSeconds };
  } finally {
    await rm(beside, { recursive: true, force: true });
  }
}

/** The loudest section from its beginning; earlier where the song would end. */
function loudestPart({ sections, seconds }: Measured['measurement'], length: number): Span {
  const loudest = sections.loudest === null ? undefined : sections.sections[sections.loudest];
  const startSeconds = Math.max(0, Math.min(loudest?.startSeconds ?? 0, seconds - length));
  return { startSeconds, endSeconds: startSeconds + length };
}
