import type { Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import type { Kernels } from '../signal/kernels.ts';
import { joinFaults } from './faults/fault-meter.ts';
import { fitnessOf } from './fitness.ts';
import { type SoundFormat, sendThrough } from './lane.ts';
import { LevelLane, type LevelPart } from './level-lane.ts';
import type { Measurement } from './measurement.ts';
import { sectionsOf } from './sections.ts';
import type { SoundFeed } from './sound-feed.ts';
import { SpectrumLane, type SpectrumPart } from './spectrum-lane.ts';
import { stereoResult, stereoTrace } from './stereo.ts';

type Blocks = Iterable<Pcm> | AsyncIterable<Pcm>;

/** Half of a measurement: plain data that may travel between threads. */
export type MeasuredLane<Part> = Part & { readonly frames: number };

/**
 * Measures a sound as it streams by, in one pass. Blocks may have any size, and the result does not depend on
 * it. Memory does not grow with length but for the 10 Hz loudness steps.
 *
 * Rejects with CodedError SOUND_NOT_NUMBERS when a sample is NaN or infinite, RangeError when the blocks do not
 * agree with `format`, `run.signal.reason` when aborted, and whatever the blocks' iterator throws.
 */
export async function measureSound(blocks: Blocks, format: SoundFormat, run: Run = {}): Promise<Measurement> {
  const make = (kernels: Kernels, feed: SoundFeed) => {
    const levels = new LevelLane(kernels, feed, format.sampleRate);
    const spectra = new SpectrumLane(kernels, feed, format.sampleRate);
    const take = (frames: number, last: boolean) => {
      levels.take(frames, last);
      spectra.take(frames);
    };
    return { levels, spectra, take };
  };
  const { meters, frames } = await sendThrough(blocks, format, make, run);
  return joinLanes(format, { ...meters.levels.finish(), frames }, { ...meters.spectra.finish(), frames });
}

/** One half of what `measureSound` does, for a thread that has the other core to itself; rejects as it does. */
export async function measureLevels(
  blocks: Blocks,
  format: SoundFormat,
  run: Run = {},
): Promise<MeasuredLane<LevelPart>> {
  const make = (kernels: Kernels, feed: SoundFeed) => new LevelLane(kernels, feed, format.sampleRate);
  const { meters, frames } = await sendThrough(blocks, format, make, run);
  return { ...meters.finish(), frames };
}

/** The other half. Does not look for NaN: the half above does. */
export async function measureSpectra(
  blocks: Blocks,
  format: SoundFormat,
  run: Run = {},
): Promise<MeasuredLane<SpectrumPart>> {
  const make = (kernels: Kernels, feed: SoundFeed) => new SpectrumLane(kernels, feed, format.sampleRate);
  const { meters, frames } = await sendThrough(blocks, format, make, run);
  return { ...meters.finish(), frames };
}

/** Puts the halves together: the same figures, bit for bit, as `measureSound` gives. RangeError when their lengths differ. */
export function joinLanes(
  { sampleRate, channels }: SoundFormat,
  levels: MeasuredLane<LevelPart>,
  spectra: MeasuredLane<SpectrumPart>,
): Measurement {
  const { frames } = levels;
  if (spectra.frames !== frames) throw new RangeError('the halves of a measurement are of two sounds');
  const { result: loudness, trace } = levels.loudness;
  const { peaks, dynamics } = levels;
  const faults = joinFaults(levels.faults, spectra.faults);
  const seconds = frames / sampleRate;
  return {
    sampleRate,
    channels,
    frames,
    seconds,
    loudness,
    peak: {
      ...peaks,
      plrDb:
        peaks.truePeakDbtp === null || loudness.integratedLufs === null
          ? null
          : peaks.truePeakDbtp - loudness.integratedLufs,
    },
    tone: spectra.tone,
    sections: sectionsOf(spectra.form, trace, seconds),
    faults,
    fitness: fitnessOf(seconds, loudness, peaks, faults, levels.faults.ceiling),
    stereo: stereoResult(levels.pairs, spectra.stereo, levels.channelPeaks, seconds),
    dynamics: dynamics.result,
    lowEnd: spectra.lowEnd,
    traces: {
      waveform: levels.waveform,
      loudness: trace,
      dynamics: dynamics.trace,
      tone: spectra.toneTrace,
      stereo: stereoTrace(levels.pairs, spectra.stereo),
    },
  };
}
