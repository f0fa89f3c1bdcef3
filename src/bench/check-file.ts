import { basename } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { Facts } from '../judge/facts.ts';
import type { FileReport } from '../judge/file-report.ts';
import type { ProfileId } from '../judge/profiles.ts';
import type { Traces } from '../measure/measurement.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import { hashedFile, type KnownFile } from './hashed-file.ts';
import type { RoundTrips } from './round-trips.ts';
import { runTask, type Workshop } from './run-task.ts';
import { measureTask } from './tasks/measure.ts';

export interface CheckOptions {
  /** Shown in the report and in errors instead of the path's last part. */
  readonly name?: string;
  /** SHA-256 of the file's bytes where it is known already and the file never changes; otherwise it is hashed. */
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
    // Where nothing is kept, the file is hashed while it is measured: no stage of its own.
    const hashing = workshop.results ? partOfRun(run('reading'), 0, hashedAt) : { signal: options.signal };
    const file: KnownFile =
      options.sha256 === undefined ? hashedFile(path, hashing) : { path, sha256: options.sha256 };
    const toMeasure = partOfRun(run('measuring'), hashedAt, options.lossy ? measuredAt : 1);
    const measuring = runTask(measureTask, { files: [file], options: {} }, workshop, toMeasure);
    // While the threads measure: the judge, and the schema he reports by, take a while to load.
    const judging = import('../judge/report.ts');
    const { info, tags, measurement } = await measuring;
    const { reportOf } = await judging;
    const { lossy, lossyFailed } = options.lossy
      ? await lossyOf(file, measurement.peak.truePeakDbtp, options.formats, workshop, run)
      : { lossy: [], lossyFailed: [] };
    const sha256 = await file.sha256;
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

/** Loaded only when it is asked for: the formats bring their engines with them. */
async function lossyOf(
  file: KnownFile,
  truePeakDbtp: number | null,
  formats: readonly LossyFormat[] | undefined,
  workshop: Workshop,
  run: StagedRun,
): Promise<RoundTrips> {
  const { roundTrips } = await import('./round-trips.ts');
  return roundTrips(file, truePeakDbtp, formats, workshop, (stage) => partOfRun(run(stage), measuredAt, 1));
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

/** Files in the store are called by their hash, which tells a person nothing: the sentence gets the name they know. */
function named(error: unknown, path: string, name: string): unknown {
  if (!(error instanceof CodedError) || !error.message.includes(basename(path))) return error;
  return new CodedError(
    error.code,
    error.message.replaceAll(basename(path), () => name),
    { cause: error },
  );
}
