import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { partOfRun, type Run } from '../../audio/run.ts';
import type { Programme } from '../../deliver/delivery-plan.ts';
import type { PlannedFile } from '../../deliver/planned-file.ts';
import type { FileContract, FoundFile } from '../../deliver/proof/contract.ts';
import type { ReleaseRecord } from '../../deliver/record/record.ts';
import { spanLoudness } from '../../measure/loudness-detail.ts';
import { parseFormats } from '../../survive/formats.ts';
import { engineChoice } from '../engine-choice.ts';
import { runTask, type Workshop } from '../run-task.ts';
import { type Assembled, type AssembleOptions, assembleTask } from '../tasks/assemble.ts';
import { type FinishFileOptions, finishFileTask } from '../tasks/finish-file.ts';
import { roundTripTask } from '../tasks/round-trip.ts';
import type { ArtworkFile } from './artwork.ts';
import type { DeliveryJournal } from './journal.ts';
import type { ReadyFile } from './make-ready.ts';

interface Making {
  readonly record: ReleaseRecord;
  readonly artwork: ArtworkFile | null;
  readonly journal: DeliveryJournal;
  readonly workshop: Workshop;
}

/** Share of the work on a programme that putting it together takes (by feel, for the progress bar only). */
const assembledAt = 0.4;
const stepSeconds = 0.1;

/** Makes the files of a programme that are not there yet, under names of their own in the work folder. */
export async function makeProgramme(
  programme: Programme<ReadyFile>,
  { record, artwork, journal, workshop }: Making,
  run: Run,
): Promise<void> {
  const { files, profile } = programme;
  const missing = files.filter(({ name }) => journal.file(name) === null);
  if (missing.length > 0) {
    const made = await assembled(programme, record.seed, journal, workshop, partOfRun(run, 0, assembledAt));
    const album = albumFigures(made);
    const stages = stagePaths(programme, journal);
    const shares = missing.map(() => 0);
    const finishing = partOfRun(run, assembledAt, 0.9);
    await Promise.all(
      missing.map(async (file, m) => {
        const i = files.indexOf(file);
        const options = {
          stagePath: stages[i],
          path: workPath(journal, file.name),
          profile: { container: profile.container, bits: profile.bits, lossy: profile.lossy },
          tags: file.tags,
          bext: file.bext,
          artwork,
          reading: made[i].reading,
          ...album,
        };
        const found = await workshop.pool.run<FinishFileOptions, FoundFile>(
          finishFileTask,
          { files: [], options },
          {
            signal: run.signal,
            progress: (fraction) => {
              shares[m] = fraction;
              finishing.progress?.(shares.reduce((sum, share) => sum + share, 0) / missing.length);
            },
          },
        );
        await journal.keepFile(file.name, found);
      }),
    );
  }
  if (profile.survive) await survive(programme, profile.survive.formatIds, journal, workshop, run);
  run.progress?.(1);
}

/** Where a file lies until it gets its name; the ending tells the tag writer what it is. */
export function workPath(journal: Pick<DeliveryJournal, 'work'>, name: string): string {
  return join(journal.work, `file-${shortHash(name)}${name.slice(name.lastIndexOf('.'))}`);
}

/** What one file of a programme must be. */
export function contractOf(
  { profile, plan, dithered }: Programme<ReadyFile>,
  file: PlannedFile,
  artwork: boolean,
): FileContract {
  return {
    profile,
    sampleRate: plan.sampleRate,
    frames: file.to - file.from,
    tags: file.readTags,
    bext: file.bext && {
      ...file.bext,
      loudness: {
        integratedLufs: null,
        rangeLu: null,
        maxTruePeakDbtp: null,
        maxMomentaryLufs: null,
        maxShortTermLufs: null,
      },
    },
    dithered,
    artwork,
  };
}

async function assembled(
  programme: Programme<ReadyFile>,
  seed: number,
  journal: DeliveryJournal,
  workshop: Workshop,
  run: Run,
): Promise<readonly Assembled[]> {
  const { id, plan, gainsDb, profile, dithered, files, sounds } = programme;
  const paths = stagePaths(programme, journal);
  // Some may have become files already; those need no sound of their own any more.
  const needed = paths.filter((_, i) => journal.file(files[i].name) === null);
  const before = await journal.stage(id, needed);
  if (before) return before;
  const cuts = files.map(({ from, to, bext }, i) => ({ from, to, bext, path: paths[i] }));
  const options = { plan, gainsDb, bits: profile.bits, dithered, seed, cuts };
  const made = await workshop.pool.run<AssembleOptions, Assembled[]>(
    assembleTask,
    { files: sounds.map(({ path }) => ({ path })), options },
    run,
  );
  await journal.keepStage(id, made);
  return made;
}

function stagePaths({ id, files }: Programme<ReadyFile>, journal: DeliveryJournal): string[] {
  return files.map((_, i) => join(journal.work, `stage-${shortHash(id)}-${i}.wav`));
}

/** Loudness of all files in a row, and the highest of their peaks. */
function albumFigures(made: readonly Assembled[]): {
  albumLufs: number | null;
  albumPeakDbtp: number | null;
} {
  const stepPowers = made.flatMap((each) => each.stepPowers);
  const whole = { startSeconds: 0, endSeconds: stepPowers.length * stepSeconds };
  const trace = { stepSeconds, stepPowers, momentaryLufs: [], shortTermLufs: [] };
  const peaks = made.flatMap(({ reading }) => reading.truePeakDbtp ?? []);
  return {
    albumLufs: spanLoudness(trace, whole).integratedLufs,
    albumPeakDbtp: peaks.length === 0 ? null : Math.max(...peaks),
  };
}

/** Codes every file for real and keeps what came out. */
async function survive(
  { files }: Programme<ReadyFile>,
  formatIds: readonly string[],
  journal: DeliveryJournal,
  workshop: Workshop,
  { signal }: Run,
): Promise<void> {
  const engine = await engineChoice();
  const formats = parseFormats(formatIds.join(','));
  await Promise.all(
    files.map(async ({ name }) => {
      const found = journal.file(name);
      if (!found || journal.coded(name)) return;
      const { truePeakDbtp } = found.reading;
      const file = {
        path: journal.placing ? join(journal.folder, name) : workPath(journal, name),
        sha256: found.sha256,
      };
      const coded = await Promise.all(
        formats.map(async (format) => {
          const trip = await runTask(
            roundTripTask,
            { files: [file], options: { format, engine, truePeakDbtp } },
            workshop,
            { signal },
          );
          return { format: trip.format, truePeakDbtp: trip.truePeakDbtp };
        }),
      );
      await journal.keepCoded(name, coded);
    }),
  );
}

function shortHash(text: string): string {
  return createHash('sha256').update(text).digest('hex').slice(0, 16);
}
