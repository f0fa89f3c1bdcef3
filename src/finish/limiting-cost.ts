import type { Pcm } from '../audio/pcm.ts';
import { BandLevelMeter, bandCellSeconds } from '../measure/band-levels.ts';
import { LoudnessMeter } from '../measure/loudness.ts';
import { OnsetCounter } from '../measure/onsets.ts';
import { SoundFeed } from '../measure/sound-feed.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { GainReduction, type Reduction } from './gain-reduction.ts';
import { PatternDistance, stretchFrames } from './pattern-distance.ts';
import { StretchPairs } from './stretches.ts';

/** What a limiter cost. */
export interface LimitingCost {
  /** Highest sample over RMS of all channels, dB; null for silence. */
  readonly crestBeforeDb: number | null;
  readonly crestAfterDb: number | null;
  /** Onsets before the limiter, and by how much they rise more after it, dB on average; null without any. */
  readonly onsets: { readonly count: number; readonly changeDb: number | null };
  readonly reduction: Reduction;
  /** Power of the error to the scaled input, dB under the output; null for silence and when nothing is left. */
  readonly errorDb: number | null;
  readonly distanceSone: number | null;
}

/**
 * Lays what went into a limiter beside what came out, both in step, in blocks of any size, and says what it cost.
 */
export class LimitingCostMeter {
  readonly #before: Side;
  readonly #after: Side;
  readonly #pairs: StretchPairs;
  readonly #reduction: GainReduction;
  readonly #distance: PatternDistance;
  #cross = 0;

  /** @param driveDb gain between what is called the input here and the limiter, dB */
  constructor(sampleRate: number, channels: number, driveDb: number) {
    this.#before = new Side(sampleRate, channels);
    this.#after = new Side(sampleRate, channels);
    this.#pairs = new StretchPairs(stretchFrames, channels, (before, after) => this.#take(before, after));
    this.#reduction = new GainReduction(sampleRate, 10 ** (driveDb / 20));
    this.#distance = new PatternDistance(sampleRate);
  }

  pushBefore(block: Pcm): void {
    this.#before.push(block);
    this.#pairs.pushBefore(block);
  }

  pushAfter(block: Pcm): void {
    this.#after.push(block);
    this.#pairs.pushAfter(block);
  }

  /** Ends both sounds; call once. RangeError when they are not of one length. */
  finish(): LimitingCost {
    this.#pairs.finish();
    const one = this.#before.finish();
    const other = this.#after.finish();
    const changes = one.onsets.map((cell) => {
      const near = other.rises.slice(Math.max(0, cell - 1), cell + 2);
      return Math.max(0, ...near) - one.rises[cell];
    });
    const error = other.power - (one.power > 0 ? this.#cross ** 2 / one.power : 0);
    return {
      crestBeforeDb: one.crestDb,
      crestAfterDb: other.crestDb,
      onsets: {
        count: changes.length,
        changeDb: changes.length === 0 ? null : changes.reduce((sum, each) => sum + each, 0) / changes.length,
      },
      reduction: this.#reduction.finish(),
      // What is below the rounding of 24 bits is no error.
      errorDb: other.power > 0 && error > other.power * 1e-14 ? 10 * Math.log10(error / other.power) : null,
      distanceSone: this.#distance.finish(one.lufs, other.lufs),
    };
  }

  #take(before: readonly Float32Array[], after: readonly Float32Array[]): void {
    const frames = before[0].length;
    this.#reduction.take(before, after, frames);
    before.forEach((x, c) => {
      const y = after[c];
      for (let i = 0; i < frames; i++) this.#cross += x[i] * y[i];
      if (frames === stretchFrames) this.#distance.take(x, y);
    });
  }
}

/** One of the two sounds and its own figures. */
class Side {
  readonly #feed: SoundFeed;
  readonly #loudness: LoudnessMeter;
  readonly #bands: BandLevelMeter;
  readonly #onsetCounter: OnsetCounter;
  readonly #onsets: number[] = [];
  readonly #rises: number[] = [];
  #power = 0;
  #samples = 0;
  #highest = 0;

  constructor(sampleRate: number, channels: number) {
    const kernels = instantiateKernels();
    this.#feed = new SoundFeed(kernels, { sampleRate, channels });
    this.#loudness = new LoudnessMeter(kernels, this.#feed, sampleRate);
    this.#onsetCounter = new OnsetCounter(bandCellSeconds(sampleRate), {
      rise: (db) => this.#rises.push(db),
      onset: (cell) => this.#onsets.push(cell),
    });
    this.#bands = new BandLevelMeter(kernels, this.#feed, sampleRate, this.#onsetCounter);
  }

  push(block: Pcm): void {
    this.#feed.push(block, (frames) => this.#take(frames));
    for (const samples of block.channels) {
      this.#samples += samples.length;
      for (let i = 0; i < samples.length; i++) {
        const x = samples[i];
        this.#power += x * x;
        const height = Math.abs(x);
        if (height > this.#highest) this.#highest = height;
      }
    }
  }

  finish() {
    this.#feed.finish((frames) => this.#take(frames));
    const meanPower = this.#power / Math.max(1, this.#samples);
    return {
      power: this.#power,
      crestDb: meanPower > 0 ? 20 * Math.log10(this.#highest) - 10 * Math.log10(meanPower) : null,
      lufs: this.#loudness.finish().result.integratedLufs,
      onsets: this.#onsets,
      rises: this.#rises,
    };
  }

  #take(frames: number): void {
    this.#loudness.take(frames);
    this.#bands.take(frames);
  }
}
