import type { Pcm } from '../src/audio/pcm.ts';
import { type BandCrest, BandLevelMeter, bandCellSeconds } from '../src/measure/band-levels.ts';
import type { FlatTops } from '../src/measure/dynamics-result.ts';
import { FlatTopFinder } from '../src/measure/flat-tops.ts';
import { LoudnessMeter, type LoudnessReading } from '../src/measure/loudness.ts';
import { LowEndMeter, type LowEndResult } from '../src/measure/low-end.ts';
import { OnsetCounter } from '../src/measure/onsets.ts';
import { PairLevelMeter } from '../src/measure/pair-levels.ts';
import { PeakShape, type PeakShapeReading } from '../src/measure/peak-shape.ts';
import { SampleLevelMeter } from '../src/measure/sample-levels.ts';
import { SoundFeed } from '../src/measure/sound-feed.ts';
import { stereoBands, stereoResult } from '../src/measure/stereo.ts';
import { StereoBandMeter } from '../src/measure/stereo-bands.ts';
import type { StereoResult } from '../src/measure/stereo-result.ts';
import { ToneMeter, toneFrameLength } from '../src/measure/tone.ts';
import { instantiateKernels, type Kernels } from '../src/signal/kernels.ts';

/** Something that reads the chunks of a feed. */
interface Taker {
  take(frames: number, last: boolean): void;
}

/** Sends a sound through single meters, without all the others. */
export function through(
  pcm: Pcm,
  make: (kernels: Kernels, feed: SoundFeed, sampleRate: number) => readonly Taker[],
): void {
  const kernels = instantiateKernels();
  const { sampleRate, channels } = pcm;
  const feed = new SoundFeed(kernels, { sampleRate, channels: channels.length });
  const takers = make(kernels, feed, sampleRate);
  const take = (frames: number, last: boolean) => {
    for (const taker of takers) taker.take(frames, last);
  };
  feed.push(pcm, take);
  feed.finish(take);
}

/** The stereo figures alone. */
export function stereoOf(pcm: Pcm): StereoResult | null {
  const size = toneFrameLength(pcm.sampleRate);
  const parts: {
    bands?: StereoBandMeter;
    tone?: ToneMeter;
    pairs?: PairLevelMeter;
    levels?: SampleLevelMeter;
  } = {};
  through(pcm, (kernels, feed, rate) => {
    parts.bands = new StereoBandMeter(kernels, rate, size);
    parts.tone = new ToneMeter(kernels, feed, rate, [parts.bands]);
    parts.pairs = new PairLevelMeter(kernels, feed, rate);
    parts.levels = new SampleLevelMeter(kernels, feed, rate);
    return [parts.levels, parts.tone, parts.pairs];
  });
  parts.tone!.finish();
  const seconds = pcm.channels[0].length / pcm.sampleRate;
  return stereoResult(
    parts.pairs!.finish(),
    stereoBands(parts.bands!.finish(), seconds),
    parts.levels!.finish().channelPeaks,
    seconds,
  );
}

/** The search for flat tops alone. */
export function flatTopsOf(pcm: Pcm): FlatTops {
  let finder: FlatTopFinder | undefined;
  through(pcm, (kernels, feed, rate) => {
    finder = new FlatTopFinder(kernels, feed, rate);
    return [new SampleLevelMeter(kernels, feed, rate, [finder])];
  });
  return finder!.finish();
}

/** Crest by band and onsets alone. */
export function bandLevelsOf(pcm: Pcm): {
  readonly crests: readonly BandCrest[];
  readonly onsets: { readonly count: number; readonly seconds: number };
} {
  const onsets = new OnsetCounter(bandCellSeconds(pcm.sampleRate));
  let meter: BandLevelMeter | undefined;
  through(pcm, (kernels, feed, rate) => {
    meter = new BandLevelMeter(kernels, feed, rate, onsets);
    return [meter];
  });
  return { crests: meter!.finish(), onsets: onsets.finish() };
}

/** Loudness alone. */
export function loudnessOf(pcm: Pcm): LoudnessReading {
  let meter: LoudnessMeter | undefined;
  through(pcm, (kernels, feed, rate) => {
    meter = new LoudnessMeter(kernels, feed, rate);
    return [meter];
  });
  return meter!.finish();
}

/** The spread of peaks alone. */
export function peakShapeOf(pcm: Pcm): PeakShapeReading {
  const shape = new PeakShape(pcm.sampleRate, pcm.channels.length);
  through(pcm, (kernels, feed, rate) => [new SampleLevelMeter(kernels, feed, rate, [shape])]);
  return shape.finish();
}

/** The low end alone. */
export function lowEndOf(pcm: Pcm): LowEndResult {
  const meter = new LowEndMeter(pcm.sampleRate, toneFrameLength(pcm.sampleRate));
  let tone: ToneMeter | undefined;
  through(pcm, (kernels, feed, rate) => {
    tone = new ToneMeter(kernels, feed, rate, [meter]);
    return [tone];
  });
  tone!.finish();
  return meter.finish();
}
