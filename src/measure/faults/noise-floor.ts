import { powerToDb } from '../../signal/decibels.ts';
import type { Span } from '../span.ts';

export interface NoiseResult {
  /** Mean square from 200 Hz to 16 kHz of the quietest passage (about 0.7 s) that is not digital silence, all channels
   * added, dBFS; null when there is none. */
  readonly quietestDbfs: number | null;
  /** Where that passage is; null likewise. */
  readonly quietest: Span | null;
  /** The same level where the passage holds nothing but steady, even noise: the noise floor. null when music goes on everywhere. */
  readonly floorDbfs: number | null;
}

const fromHz = 200;
const toHz = 16000;
/** Length of a passage, seconds. */
const passageSeconds = 0.68;

// Heuristics; test/conformance/faults-noise.test.ts says what they miss and what they mistake.
/** How far the quietest passage may lie above the sum of what each band ever fell to, dB: in steady noise all bands are
 * at their lowest at once (but for chance, 1 to 3 dB), in music one after the other. */
const steadyDb = 4;
/** Least evenness of that lowest spectrum from 1 to 8 kHz, geometric over arithmetic mean: noise is even, notes are not. */
const evenness = 0.3;
/** Largest difference between the frames (about 0.09 s) of that passage, dB: steady noise keeps its level, fades and notes do not. */
const withinDb = 1.5;
/** How far that passage must lie below the mean of the song, dB: what is no quieter than this is the music itself. */
const belowSongDb = 15;
/** Fewest passages from which the lowest of each band can be told. */
const fewest = 4;

/** Finds the quietest passage and tells bare noise from quiet music by the lowest each band ever falls to. */
export class NoiseFloorMeter {
  readonly #bandHz: number;
  readonly #first: number;
  readonly #last: number;
  readonly #perPassage: number;
  readonly #stepSeconds: number;
  readonly #sums: Float64Array;
  readonly #lowest: Float64Array;
  #frames = 0;
  #inPassage = 0;
  #hasSilence = false;
  #passages = 0;
  #quietest = Number.POSITIVE_INFINITY;
  #quietestAt = 0;
  #quietestVariesDb = 0;
  /** Lowest and highest frame of the passage, and all of the song. */
  #low = Number.POSITIVE_INFINITY;
  #high = 0;
  #all = 0;

  constructor(bandCount: number, bandHz: number, stepSeconds: number) {
    this.#bandHz = bandHz;
    this.#stepSeconds = stepSeconds;
    this.#first = Math.ceil(fromHz / bandHz);
    this.#last = Math.min(bandCount, Math.floor(toHz / bandHz));
    this.#perPassage = Math.max(2, Math.round(passageSeconds / stepSeconds));
    this.#sums = new Float64Array(bandCount);
    this.#lowest = new Float64Array(bandCount).fill(Number.POSITIVE_INFINITY);
  }

  take(bands: Float64Array): void {
    let total = 0;
    for (let b = this.#first; b < this.#last; b++) {
      this.#sums[b] += bands[b];
      total += bands[b];
    }
    if (total === 0) this.#hasSilence = true;
    this.#low = Math.min(this.#low, total);
    this.#high = Math.max(this.#high, total);
    this.#all += total;
    this.#frames++;
    if (++this.#inPassage === this.#perPassage) this.#endPassage();
  }

  finish(): NoiseResult {
    if (this.#passages === 0) return { quietestDbfs: null, quietest: null, floorDbfs: null };
    const quietestDbfs = powerToDb(this.#quietest);
    const startSeconds = this.#quietestAt * this.#stepSeconds;
    const quietest = { startSeconds, endSeconds: startSeconds + this.#perPassage * this.#stepSeconds };
    let lowest = 0;
    for (let b = this.#first; b < this.#last; b++) lowest += this.#lowest[b];
    const isNoise =
      this.#passages >= fewest &&
      quietestDbfs - powerToDb(lowest) <= steadyDb &&
      this.#quietestVariesDb <= withinDb &&
      quietestDbfs <= powerToDb(this.#all / this.#frames) - belowSongDb &&
      this.#evenness(1000, 8000) >= evenness;
    return { quietestDbfs, quietest, floorDbfs: isNoise ? quietestDbfs : null };
  }

  #endPassage(): void {
    if (!this.#hasSilence) {
      let total = 0;
      for (let b = this.#first; b < this.#last; b++) {
        const level = this.#sums[b] / this.#perPassage;
        total += level;
        if (level < this.#lowest[b]) this.#lowest[b] = level;
      }
      this.#passages++;
      if (total < this.#quietest) {
        this.#quietest = total;
        this.#quietestAt = this.#frames - this.#perPassage;
        this.#quietestVariesDb = powerToDb(this.#high / this.#low);
      }
    }
    this.#sums.fill(0);
    this.#inPassage = 0;
    this.#hasSilence = false;
    this.#low = Number.POSITIVE_INFINITY;
    this.#high = 0;
  }

  #evenness(lowHz: number, highHz: number): number {
    const from = Math.floor(lowHz / this.#bandHz);
    const bands = this.#lowest.subarray(from, Math.min(this.#last, Math.ceil(highHz / this.#bandHz)));
    if (bands.length === 0) return 0;
    const mean = bands.reduce((sum, x) => sum + x, 0) / bands.length;
    const meanLog = bands.reduce((sum, x) => sum + Math.log(Math.max(x, 1e-30)), 0) / bands.length;
    return mean > 0 ? Math.exp(meanLog) / mean : 0;
  }
}
