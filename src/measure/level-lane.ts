import type { Kernels } from '../signal/kernels.ts';
import { BandLevelMeter, bandCellSeconds } from './band-levels.ts';
import { dynamicsOf } from './dynamics.ts';
import { SampleFaultMeter } from './faults/fault-meter.ts';
import { FlatTopFinder } from './flat-tops.ts';
import type { Lane } from './lane.ts';
import { LoudnessMeter } from './loudness.ts';
import { OnsetCounter } from './onsets.ts';
import { PairLevelMeter } from './pair-levels.ts';
import { PeakShape } from './peak-shape.ts';
import { SampleLevelMeter } from './sample-levels.ts';
import type { SoundFeed } from './sound-feed.ts';
import { TruePeakSearch } from './true-peak.ts';

export type LevelPart = ReturnType<LevelLane['finish']>;

/** Everything that is read off the sound in time: loudness, peaks, dynamics, and the faults that samples tell. */
export class LevelLane implements Lane {
  readonly #shape: PeakShape;
  readonly #flatTops: FlatTopFinder;
  readonly #levels: SampleLevelMeter;
  readonly #pairs: PairLevelMeter;
  readonly #onsets: OnsetCounter;
  readonly #bands: BandLevelMeter;
  readonly #loudness: LoudnessMeter;
  readonly #truePeak: TruePeakSearch;
  readonly #faults: SampleFaultMeter;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#shape = new PeakShape(sampleRate, feed.pointers.length);
    this.#flatTops = new FlatTopFinder(kernels, feed, sampleRate);
    this.#levels = new SampleLevelMeter(kernels, feed, sampleRate, [this.#shape, this.#flatTops]);
    this.#pairs = new PairLevelMeter(kernels, feed, sampleRate);
    this.#onsets = new OnsetCounter(bandCellSeconds(sampleRate));
    this.#bands = new BandLevelMeter(kernels, feed, sampleRate, this.#onsets);
    this.#loudness = new LoudnessMeter(kernels, feed, sampleRate);
    this.#truePeak = new TruePeakSearch(kernels, feed, sampleRate);
    this.#faults = new SampleFaultMeter(kernels, feed, sampleRate);
  }

  take(frames: number, last: boolean): void {
    this.#levels.take(frames);
    this.#loudness.take(frames);
    this.#truePeak.take(frames, last);
    this.#pairs.take(frames);
    this.#bands.take(frames);
    this.#faults.take(frames);
  }

  finish() {
    const loudness = this.#loudness.finish();
    const { waveform, channelPeaks, ...sampleLevels } = this.#levels.finish();
    const pairs = this.#pairs.finish();
    const dynamics = dynamicsOf({
      crests: this.#bands.finish(),
      onsets: this.#onsets.finish(),
      shape: this.#shape.finish(),
      tops: this.#flatTops.finish(),
      stepPowers: pairs.stepPowers,
      loudness: loudness.result,
      trace: loudness.trace,
    });
    const peaks = { ...sampleLevels, ...this.#truePeak.finish() };
    return { loudness, waveform, channelPeaks, peaks, pairs, dynamics, faults: this.#faults.finish() };
  }
}
