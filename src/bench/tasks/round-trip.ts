import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { readSound } from '../../audio/files/read-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import { roundTrip } from '../../survive/round-trip.ts';
import type { LossyFormat, RoundTrip } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';

export interface RoundTripOptions {
  readonly format: LossyFormat;
  /** Which engine may code; part of the key a result is kept under, because it is named in the result. */
  readonly engine: EngineChoice;
  /** The file's own true peak, as measured; null for silence. Given so that not every format measures it again. */
  readonly truePeakDbtp: number | null;
}

/** Codes one file in one lossy format, decodes it and measures what came out. */
export const roundTripTask: Task<RoundTripOptions, RoundTrip> = {
  name: 'round-trip',
  version: 2,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options }, run) {
    const { pcm } = await readSound(file.path, partOfRun(run, 0, 0.2));
    const after = partOfRun(run, 0.2, 1);
    const { result } = await roundTrip(
      pcm,
      options.format,
      threadEngine(options.engine),
      after,
      options.truePeakDbtp,
    );
    return result;
  },
};
