import { CodedError } from '../audio/coded-error.ts';
import type { Run } from '../audio/run.ts';
import { checkFormats } from '../survive/formats.ts';
import type { LossyFormat, RoundTrip, RoundTripFailure } from '../survive/round-trip-result.ts';
import { engineChoice } from './engine-choice.ts';
import type { KnownFile } from './hashed-file.ts';
import { runTask, type Workshop } from './run-task.ts';
import { roundTripTask } from './tasks/round-trip.ts';

export interface RoundTrips {
  readonly lossy: RoundTrip[];
  readonly lossyFailed: RoundTripFailure[];
}

/** All formats at once: the pool spreads them over its threads. */
export async function roundTrips(
  file: KnownFile,
  truePeakDbtp: number | null,
  formats: readonly LossyFormat[] = checkFormats,
  workshop: Workshop,
  run: (stage: string) => Run,
): Promise<RoundTrips> {
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
          progress?.(done);
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
