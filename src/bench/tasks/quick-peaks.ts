import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { probe } from '../../audio/files/lossy/trust.ts';
import { slicePcm } from '../../audio/pcm.ts';
import { cutLikely, type LikelyStretches, likelyPeak } from '../../survive/estimate.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';
import { withSound } from './thread-sound.ts';

// The quick answer is made of small tasks, so that all threads are at it from the beginning. These exchange sound, not
// JSON: they are run in the pool directly, and what comes of them together is kept by who asks.

/** Finds and cuts out the passages likeliest to go over. */
export const cutLikelyTask: Task<{ readonly formats: readonly LossyFormat[] }, LikelyStretches> = {
  name: 'cut-likely',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [file], options: { formats } }, run) {
    return withSound(file, run, (sound) => cutLikely(sound, formats));
  },
};

export interface LikelyPeakOptions {
  readonly likely: LikelyStretches;
  readonly format: LossyFormat;
  readonly engine: EngineChoice;
}

/** Codes the passages in one format; their highest true peak after decoding, dBTP, null for silence. */
export const likelyPeakTask: Task<LikelyPeakOptions, number | null> = {
  name: 'likely-peak',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ options: { likely, format, engine } }, run) {
    return likelyPeak(likely, format, threadEngine(engine), run);
  },
};

const warmFrames = 9600;

/**
 * Loads what the formats need and codes a fifth of a second in each: while one thread looks for the passages, another
 * gets the codecs ready. Threads share the code that was compiled. What fails here fails again where it is told.
 */
export const warmCodecsTask: Task<
  { readonly formats: readonly LossyFormat[]; readonly engine: EngineChoice },
  null
> = {
  name: 'warm-codecs',
  version: 1,
  timeLimitSeconds: 60,
  async run({ options: { formats, engine } }, run) {
    const sound = slicePcm(probe(), 0, warmFrames);
    for (const format of formats)
      await threadEngine(engine)
        .code(sound, format, { signal: run.signal })
        .catch(() => {});
    return null;
  },
};
