import type { Transaction } from 'kysely';
import type { Tables } from './store/tables.ts';

/** A job as it is given to whoever does work of its kind. */
export interface JobAsked {
  readonly jobId: string;
  readonly versionId: string;
  /** The version's file. */
  readonly path: string;
  readonly name: string;
  readonly sha256: string;
  /** What was asked for, as it was enqueued. */
  readonly settings: unknown;
  readonly signal: AbortSignal;
  onProgress(stage: string, progress: number): void;
}

/** What comes of a job's work. */
export interface JobEnd {
  /** Stored together with the job's being done, or not at all. */
  keep(tx: Transaction<Tables>): Promise<void>;
  /** Called once that is on the disk. */
  told(): void;
}

/** Those who do work of kinds that the queue knows only by name. */
export type JobWorkers = {
  readonly [Kind in 'places' | 'finish' | 'loudness']: (asked: JobAsked) => Promise<JobEnd>;
};
