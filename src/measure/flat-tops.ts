import { floats, type Kernels, levelCellFrames } from '../signal/kernels.ts';
import type { FlatTops } from './dynamics-result.ts';
import type { CellTaker } from './sample-levels.ts';
import { chunkFrames, type SoundFeed } from './sound-feed.ts';
import type { Span } from './span.ts';

/** What counts as the flat part of a top: within 0.1 dB of it. */
const flat = 10 ** (-0.1 / 20);
/** Its flanks are taken 1 dB down. */
const flank = 10 ** (-1 / 20);
/**
 * Share of the width between the flanks that is flat: any smooth top has about 0.32 (a parabola), the flattest sum of a
 * tone and its third harmonic 0.57, a sine through tanh at 12 dB of drive 0.73 (computed).
 */
const flatShare = 0.65;
/** Shortest flat part: 4 samples and 0.1 ms. */
const shortest = { samples: 4, seconds: 0.0001 };
/** Tops within this of the highest of the sound are looked at: 1 dB. */
const nearTop = 10 ** (-1 / 20);
const told = 200;
const binsPerDb = 100;
const reach = chunkFrames / 2;

interface Top extends Span {
  readonly level: number;
  readonly samples: number;
}

/**
 * Finds tops that were pressed flat at whatever level: soft clipping, and hard clipping that was turned down or shaped
 * afterwards, which the search for equal samples (clipped-runs.ts) cannot see. Heuristic: a top is flat when at least
 * 65 % of its width 1 dB down lies within 0.1 dB of it.
 */
export class FlatTopFinder implements CellTaker {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #leastSamples: number;
  /** Peaks of the cells of the chunk before and the current one. */
  readonly #cellPeaks: readonly Float32Array[];
  /** Frame up to which each channel has been looked at, and the first frame of its current chunk. */
  readonly #done: Float64Array;
  readonly #start: Float64Array;
  /** Tops by level, in hundredths of a decibel: all, and flat. */
  readonly #tops = new Map<number, { all: number; flat: number }>();
  #kept: Top[] = [];
  #highest = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#leastSamples = Math.max(shortest.samples, Math.round(shortest.seconds * sampleRate));
    const channels = feed.pointers.length;
    this.#cellPeaks = Array.from(
      { length: channels },
      () => new Float32Array((2 * chunkFrames) / levelCellFrames),
    );
    this.#done = new Float64Array(channels);
    this.#start = new Float64Array(channels);
  }

  takeCells(channel: number, frames: number, lows: Float32Array, highs: Float32Array): void {
    const peaks = this.#cellPeaks[channel];
    const half = peaks.length / 2;
    peaks.copyWithin(0, half);
    peaks.fill(0, half);
    for (let i = 0; i < lows.length; i++) {
      const peak = Math.max(-lows[i], highs[i]);
      peaks[half + i] = peak;
      if (peak > this.#highest) this.#highest = peak;
    }
    // A top is looked at when there is half a chunk of sound on either side of it, or the end.
    const to = frames < chunkFrames ? chunkFrames + frames : chunkFrames + reach;
    this.#look(channel, reach, to);
    this.#start[channel] += frames;
  }

  finish(): FlatTops {
    let all = 0;
    let flatOnes = 0;
    const least = levelBin(this.#highest * nearTop);
    for (const [bin, tops] of this.#tops) {
      if (bin < least) continue;
      all += tops.all;
      flatOnes += tops.flat;
    }
    this.#keepLongest();
    return {
      flatTopCount: flatOnes,
      flatTopShare: all > 0 ? flatOnes / all : null,
      flatTops: this.#kept
        .map(({ startSeconds, endSeconds }) => ({ startSeconds, endSeconds }))
        .sort((a, b) => a.startSeconds - b.startSeconds || a.endSeconds - b.endSeconds),
    };
  }

  /** Looks at the cells of a stretch of the two chunks that reach up to the highest so far. */
  #look(channel: number, from: number, to: number): void {
    const pointer = this.#feed.pointers[channel];
    const sound = floats(this.#kernels, pointer - 4 * chunkFrames, 2 * chunkFrames);
    const peaks = this.#cellPeaks[channel];
    const base = this.#start[channel] - chunkFrames;
    for (let cell = from / levelCellFrames; cell * levelCellFrames < to; cell++) {
      if (peaks[cell] < this.#highest * nearTop || peaks[cell] === 0) continue;
      const end = Math.min((cell + 1) * levelCellFrames, to);
      let at = Math.max(cell * levelCellFrames, this.#done[channel] - base);
      while (at < end) {
        if (Math.abs(sound[at]) < this.#highest * nearTop) at++;
        else at = this.#measureTop(channel, sound, at, base);
      }
      this.#done[channel] = Math.max(this.#done[channel], base + at);
    }
  }

  /** Measures the top that a high sample belongs to; returns the first sample after it. */
  #measureTop(channel: number, sound: Float32Array, from: number, base: number): number {
    const sign = sound[from] < 0 ? -1 : 1;
    let level = 0;
    let top = from;
    let end = from;
    // Up to the far flank of whatever turns out to be the highest.
    for (; end < sound.length && sign * sound[end] > flank * level; end++) {
      const x = sign * sound[end];
      if (x > level) {
        level = x;
        top = end;
      }
    }
    let start = from;
    while (start > 0 && sign * sound[start - 1] > flank * level) start--;
    let flatStart = top;
    while (flatStart > start && sign * sound[flatStart - 1] >= flat * level) flatStart--;
    let flatEnd = top + 1;
    while (flatEnd < end && sign * sound[flatEnd] >= flat * level) flatEnd++;
    const samples = flatEnd - flatStart;
    // A top whose flanks lie beyond what is at hand (a step, DC) is none.
    const whole = start > 0 && end < sound.length;
    const isFlat = whole && samples >= this.#leastSamples && samples >= flatShare * (end - start);
    this.#count(level, isFlat);
    if (isFlat)
      this.#keep({
        startSeconds: (base + flatStart) / this.#rate,
        endSeconds: (base + flatEnd) / this.#rate,
        level,
        samples,
      });
    this.#done[channel] = base + end;
    return Math.max(end, from + 1);
  }

  #count(level: number, isFlat: boolean): void {
    const bin = levelBin(level);
    const tops = this.#tops.get(bin) ?? { all: 0, flat: 0 };
    tops.all++;
    if (isFlat) tops.flat++;
    this.#tops.set(bin, tops);
  }

  #keep(top: Top): void {
    this.#kept.push(top);
    if (this.#kept.length >= 20 * told) this.#keepLongest();
  }

  /** Drops what the highest sample known so far already rules out, then all but the longest. */
  #keepLongest(): void {
    const least = levelBin(this.#highest * nearTop);
    this.#kept = this.#kept
      .filter(({ level }) => levelBin(level) >= least)
      .sort((a, b) => b.samples - a.samples || a.startSeconds - b.startSeconds)
      .slice(0, told);
  }
}

function levelBin(level: number): number {
  return Math.floor(20 * Math.log10(level) * binsPerDb);
}
