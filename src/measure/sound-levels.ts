import type { Pcm } from '../audio/pcm.ts';
import { amplitudeToDb } from '../signal/decibels.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { LoudnessMeter } from './loudness.ts';
import { SoundFeed } from './sound-feed.ts';
import { TruePeakSearch } from './true-peak.ts';

/** How loud and how high a sound is; null for silence (loudness: also for what is shorter than 0.4 s). */
export interface SoundLevels {
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly samplePeakDbfs: number | null;
  readonly frames: number;
}

/** Loudness and peaks of a sound that comes in blocks of any size, for those who need no more of it: the figures of a measurement. */
export class SoundLevelMeter {
  readonly #feed: SoundFeed;
  readonly #loudness: LoudnessMeter;
  readonly #truePeak: TruePeakSearch | null;
  #highest = 0;

  /** @param peaks false: loudness only, in half the time; peaks are then null */
  constructor(sampleRate: number, channels: number, peaks = true) {
    const kernels = instantiateKernels();
    this.#feed = new SoundFeed(kernels, { sampleRate, channels });
    this.#loudness = new LoudnessMeter(kernels, this.#feed, sampleRate);
    this.#truePeak = peaks ? new TruePeakSearch(kernels, this.#feed, sampleRate) : null;
  }

  /** Throws RangeError when the block's rate or channel count is not the meter's. */
  push(block: Pcm): void {
    if (this.#truePeak)
      for (const samples of block.channels)
        for (let i = 0; i < samples.length; i++) {
          const height = Math.abs(samples[i]);
          if (height > this.#highest) this.#highest = height;
        }
    this.#feed.push(block, (frames, last) => this.#take(frames, last));
  }

  /** Ends the sound; call once, push nothing after. */
  finish(): SoundLevels {
    this.#feed.finish((frames, last) => this.#take(frames, last));
    return {
      integratedLufs: this.#loudness.finish().result.integratedLufs,
      truePeakDbtp: this.#truePeak?.finish().truePeakDbtp ?? null,
      samplePeakDbfs: this.#highest > 0 ? amplitudeToDb(this.#highest) : null,
      frames: this.#feed.frames,
    };
  }

  #take(frames: number, last: boolean): void {
    this.#loudness.take(frames);
    this.#truePeak?.take(frames, last);
  }
}
