import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { BandLevelMeter, bandCellSeconds } from './band-levels.ts';
import { dynamicsOf } from './dynamics.ts';
import { FaultMeter } from './faults/fault-meter.ts';
import { fitnessOf } from './fitness.ts';
import { FlatTopFinder } from './flat-tops.ts';
import { LoudnessMeter } from './loudness.ts';
import { LowEndMeter } from './low-end.ts';
import type { Measurement } from './measurement.ts';
import { OnsetCounter } from './onsets.ts';
import { PairLevelMeter } from './pair-levels.ts';
import { PeakShape } from './peak-shape.ts';
import { PitchOverTime } from './pitch-over-time.ts';
import { SampleLevelMeter } from './sample-levels.ts';
import { findSections } from './sections.ts';
import { SoundFeed } from './sound-feed.ts';
import { stereoResult, stereoTrace } from './stereo.ts';
import { StereoBandMeter } from './stereo-bands.ts';
import { ToneMeter, toneFrameLength } from './tone.ts';
import { ToneOverTime } from './tone-over-time.ts';
import { toneTrace } from './tone-trace.ts';
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
  const shape = new PeakShape(sampleRate, channels);
  const flatTops = new FlatTopFinder(kernels, feed, sampleRate);
  const levels = new SampleLevelMeter(kernels, feed, sampleRate, [shape, flatTops]);
  const pairLevels = new PairLevelMeter(kernels, feed, sampleRate);
  const onsets = new OnsetCounter(bandCellSeconds(sampleRate));
  const bandLevels = new BandLevelMeter(kernels, feed, sampleRate, onsets);
  const loudness = new LoudnessMeter(kernels, feed, sampleRate);
  const truePeak = new TruePeakSearch(kernels, feed, sampleRate);
  const faultMeter = new FaultMeter(kernels, feed, sampleRate);
  const toneFrame = toneFrameLength(sampleRate);
  const toneOverTime = new ToneOverTime(sampleRate, toneFrame);
  const pitchOverTime = new PitchOverTime(sampleRate, toneFrame);
  const stereoBands = new StereoBandMeter(kernels, sampleRate, toneFrame);
  const lowEnd = new LowEndMeter(sampleRate, toneFrame);
  const tone = new ToneMeter(kernels, feed, sampleRate, [toneOverTime, pitchOverTime, stereoBands, lowEnd]);
  const take = (frames: number, last: boolean) => {
    levels.take(frames);
    loudness.take(frames);
    truePeak.take(frames, last);
    tone.take(frames);
    pairLevels.take(frames);
    bandLevels.take(frames);
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
        await new Promise((resolve) => setImmediate(resolve));
      }
    }
  }
  run.signal?.throwIfAborted();
  feed.finish(take);
  run.progress?.(1);

  const { result, trace } = loudness.finish();
  const { waveform, channelPeaks, ...sampleLevels } = levels.finish();
  const peaks = truePeak.finish();
  const { faults, ceiling } = faultMeter.finish();
  const toneResult = tone.finish();
  const bandTrace = toneOverTime.finish();
  const seconds = feed.frames / sampleRate;
  const pairs = pairLevels.finish();
  const bandReading = stereoBands.finish();
  const dynamics = dynamicsOf({
    crests: bandLevels.finish(),
    onsets: onsets.finish(),
    shape: shape.finish(),
    tops: flatTops.finish(),
    stepPowers: pairs.stepPowers,
    loudness: result,
    trace,
  });
  return {
    sampleRate,
    channels,
    frames: feed.frames,
    seconds,
    loudness: result,
    peak: {
      ...sampleLevels,
      ...peaks,
      plrDb:
        peaks.truePeakDbtp === null || result.integratedLufs === null
          ? null
          : peaks.truePeakDbtp - result.integratedLufs,
    },
    tone: toneResult,
    sections: findSections(bandTrace, pitchOverTime.finish(), trace, seconds),
    faults,
    fitness: fitnessOf(seconds, result, peaks, faults, ceiling),
    stereo: stereoResult(pairs, bandReading, channelPeaks, seconds),
    dynamics: dynamics.result,
    lowEnd: lowEnd.finish(),
    traces: {
      waveform,
      loudness: trace,
      dynamics: dynamics.trace,
      tone: toneTrace(bandTrace),
      stereo: stereoTrace(pairs, bandReading),
    },
  };
}
