import { basename } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { hashFile } from '../audio/files/hash-file.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { Facts } from '../judge/facts.ts';
import type { FileReport } from '../judge/file-report.ts';
import type { ProfileId } from '../judge/profiles.ts';
import { reportOf } from '../judge/report.ts';
import type { Traces } from '../measure/measurement.ts';
import { checkFormats } from '../survive/formats.ts';
import type { LossyFormat, RoundTrip, RoundTripFailure } from '../survive/round-trip-result.ts';
import { engineChoice } from './engine-choice.ts';
import { runTask, type Workshop } from './run-task.ts';
import { measureTask } from './tasks/measure.ts';
import { roundTripTask } from './tasks/round-trip.ts';
import type { TaskFile } from './tasks/task.ts';

export interface CheckOptions {
  /** Shown in the report and in errors instead of the path's last part. */
  readonly name?: string;
  /** SHA-256 of the file's bytes where it is known already; otherwise the file is hashed first. */
  readonly sha256?: string;
  /** What the file is said to be; a master when left out. */
  readonly kind?: Facts['kind'];
  /** What it is held against; the usual profile of its kind when left out. */
  readonly profile?: ProfileId;
  /** With the lossy round trips, or only measured. */
  readonly lossy: boolean;
  /** Formats to try when lossy; the default set when left out. */
  readonly formats?: readonly LossyFormat[];
  readonly signal?: AbortSignal;
  /** Told what is being done, for people, and the share of the whole that is done (0..1, never decreasing). */
  onProgress?(stage: string, fraction: number): void;
}

export interface Checked {
  readonly report: FileReport;
  readonly traces: Traces;
  /** What the report was judged from: enough to judge it anew against another profile. */
  readonly facts: Facts;
}

/** Shares of the whole at which hashing and measuring end (by feel, for the progress bar only). */
const hashedAt = 0.03;
const measuredAt = 0.25;

/**
 * The main job: one sound file in, one verdict out. The terminal and the server both call this, so both say the
 * same. Heavy work runs in the pool and is kept in `results`. A lossy format that fails is named in the report and
 * stops nothing. Rejects with CodedError: whatever reading the file gives, or JOB_CANCELLED and the like.
 */
export async function checkFile(path: string, options: CheckOptions, workshop: Workshop): Promise<Checked> {
  const name = options.name ?? basename(path);
  const run = stagedRun(options);
  try {
    const sha256 = options.sha256 ?? (await hashFile(path, partOfRun(run('reading'), 0, hashedAt)));
    const file: TaskFile = { path, sha256 };
    const toMeasure = partOfRun(run('measuring'), hashedAt, options.lossy ? measuredAt : 1);
    const { info, tags, measurement } = await runTask(
      measureTask,
      { files: [file], options: {} },
      workshop,
      toMeasure,
    );
    const { lossy, lossyFailed } = options.lossy
      ? await roundTrips(file, measurement.peak.truePeakDbtp, options.formats ?? checkFormats, workshop, run)
      : { lossy: [], lossyFailed: [] };
    const about: Facts['file'] = {
      name,
      container: info.container,
      codec: info.codec,
      sampleRate: measurement.sampleRate,
      channels: measurement.channels,
      bitDepth: info.bitDepth,
      frames: measurement.frames,
      seconds: measurement.seconds,
      sha256,
      tags: { ...tags },
      warnings: [...info.warnings],
    };
    const facts: Facts = { file: about, kind: options.kind ?? 'master', measurement, lossy, lossyFailed };
    return { report: reportOf(facts, options.profile), traces: measurement.traces, facts };
  } catch (error) {
    throw options.signal?.aborted
      ? new CodedError('JOB_CANCELLED', `The check of “${name}” was cancelled.`)
      : named(error, path, name);
  }
}

type StagedRun = (stage: string) => Run;

/** Runs that report into one (stage, fraction) that never goes back. */
function stagedRun({ signal, onProgress }: CheckOptions): StagedRun {
  let furthest = 0;
  return (stage) => ({
    signal,
    progress: (fraction) => {
      furthest = Math.max(furthest, Math.min(1, fraction));
      onProgress?.(stage, furthest);
    },
  });
}

/** All formats at once: the pool spreads them over its threads. */
async function roundTrips(
  file: TaskFile,
  truePeakDbtp: number | null,
  formats: readonly LossyFormat[],
  workshop: Workshop,
  run: StagedRun,
): Promise<{ lossy: RoundTrip[]; lossyFailed: RoundTripFailure[] }> {
  const engine = await engineChoice();
  const shares = formats.map(() => 0);
  const outcomes = await Promise.allSettled(
    formats.map((format, i) => {
      const { signal, progress } = run(`coding ${format.label}`);
      return runTask(roundTripTask, { files: [file], options: { format, engine, truePeakDbtp } }, workshop, {
        signal,
        progress: (fraction) => {
          shares[i] = fraction;
          const done = shares.reduce((sum, share) => sum + share, 0) / formats.length;
          progress?.(measuredAt + (1 - measuredAt) * done);
        },
      });
    }),
  );
  const lossy: RoundTrip[] = [];
  const lossyFailed: RoundTripFailure[] = [];
  outcomes.forEach((outcome, i) => {
    if (outcome.status === 'fulfilled') lossy.push(outcome.value);
    else lossyFailed.push(failureOf(formats[i], outcome.reason));
  });
  return { lossy, lossyFailed };
}

function failureOf(format: LossyFormat, error: unknown): RoundTripFailure {
  if (!(error instanceof CodedError)) throw error;
  if (error.code === 'JOB_CANCELLED') throw error;
  return { format: format.label, code: error.code, reason: error.message };
}

/** Files in the store are called by their hash, which tells a person nothing: the sentence gets the name they know. */
function named(error: unknown, path: string, name: string): unknown {
  if (!(error instanceof CodedError) || !error.message.includes(basename(path))) return error;
  return new CodedError(
    error.code,
    error.message.replaceAll(basename(path), () => name),
    { cause: error },
  );
}
