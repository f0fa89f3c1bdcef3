import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { FaultMeter } from './faults/fault-meter.ts';
import { fitnessOf } from './fitness.ts';
import { LoudnessMeter } from './loudness.ts';
import type { Measurement } from './measurement.ts';
import { SampleLevelMeter } from './sample-levels.ts';
import { SoundFeed } from './sound-feed.ts';
import { ToneMeter } from './tone.ts';
import { TruePeakSearch } from './true-peak.ts';

/** Samples (all channels) between two looks at the event loop, so that a cancellation can arrive. */
const breathSamples = 2 ** 21;
/** Frames measured between two looks at the abort signal. */
const strideFrames = 2 ** 16;

/** What must be known before the first block. `frames` serves only to tell progress; null when not known. */
export interface SoundFormat {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number | null;
}

/**
 * Measures a sound as it streams by, in one pass. Blocks may have any size, and the result does not depend on
 * it. Memory does not grow with length but for the 10 Hz loudness steps.
 *
 * Rejects with CodedError SOUND_NOT_NUMBERS when a sample is NaN or infinite, RangeError when the blocks do not
 * agree with `format`, `run.signal.reason` when aborted, and whatever the blocks' iterator throws.
 */
export async function measureSound(
  blocks: Iterable<Pcm> | AsyncIterable<Pcm>,
  format: SoundFormat,
  run: Run = {},
): Promise<Measurement> {
  const { sampleRate, channels } = format;
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, format);
  const levels = new SampleLevelMeter(kernels, feed, sampleRate);
  const loudness = new LoudnessMeter(kernels, feed, sampleRate);
  const truePeak = new TruePeakSearch(kernels, feed, sampleRate);
  const faultMeter = new FaultMeter(kernels, feed, sampleRate);
  const tone = new ToneMeter(kernels, feed, sampleRate);
  const take = (frames: number, last: boolean) => {
    levels.take(frames);
    loudness.take(frames);
    truePeak.take(frames, last);
    tone.take(frames);
    faultMeter.take(frames);
  };

  let sinceBreath = 0;
  for await (const block of blocks) {
    const frames = frameCount(block);
    for (let at = 0; at < frames; at += strideFrames) {
      run.signal?.throwIfAborted();
      const stride = slicePcm(block, at, Math.min(at + strideFrames, frames));
      feed.push(stride, take);
      if (format.frames) run.progress?.(Math.min(1, feed.frames / format.frames));
      sinceBreath += frameCount(stride) * channels;
      if (sinceBreath >= breathSamples) {
        sinceBreath = 0;
        await new Promise((resolve) => setTimeout(resolve, 0));
      }
    }
  }
  run.signal?.throwIfAborted();
  feed.finish(take);
  run.progress?.(1);

  const { result, trace } = loudness.finish();
  const { waveform, ...sampleLevels } = levels.finish();
  const peaks = truePeak.finish();
  const { faults, ceiling } = faultMeter.finish();
  return {
    sampleRate,
    channels,
    frames: feed.frames,
    seconds: feed.frames / sampleRate,
    loudness: result,
    peak: {
      ...sampleLevels,
      ...peaks,
      plrDb:
        peaks.truePeakDbtp === null || result.integratedLufs === null
          ? null
          : peaks.truePeakDbtp - result.integratedLufs,
    },
    tone: tone.finish(),
    faults,
    fitness: fitnessOf(feed.frames / sampleRate, result, peaks, faults, ceiling),
    traces: { waveform, loudness: trace },
  };
}
