import { amplitudeToDb } from '../signal/decibels.ts';
import { levelCellFrames } from '../signal/kernels.ts';
import type { CellTaker } from './sample-levels.ts';

/** How much of the sound one peak stands for, s. */
const blockSeconds = 0.01;
/** Bins of the histogram of peaks: 1/64 octave of amplitude, 0.09 dB, from 2^-12 (-72 dBFS) to 2^4. */
const binsPerOctave = 64;
const octaves = { lowest: -12, highest: 4 };
/** The top, dB under the highest peak: what a limiter fills. */
const topDb = 1;
/** Blocks quieter than this under the highest peak count for nothing, dB. */
const quietDb = 40;
/** Fewest peaks in the upper two decibels that tell a shape (heuristic). */
const fewest = 20;

export interface PeakShapeReading {
  /** Highest |sample| of all channels in each 100 ms, to the cell of 64 frames. */
  readonly stepPeaks: readonly number[];
  /** Share of the 10 ms blocks (silent ones left out) whose peak is within 1 dB of the highest, 0..1; null in silence. */
  readonly topShare: number | null;
  /**
   * Peaks within 1 dB of the highest against those 1 to 2 dB under it, dB. Without limiting they thin out towards the
   * top, by 3 dB and more; under a ceiling they pile up. null where too few peaks tell.
   */
  readonly edgeDb: number | null;
}

/** How the peaks of 10 ms are spread over levels: limiting piles them up under the ceiling. */
export class PeakShape implements CellTaker {
  readonly #cellsInBlock: number;
  readonly #rate: number;
  readonly #cells: Float64Array;
  readonly #blockPeaks: Float64Array;
  readonly #histogram = new Float64Array((octaves.highest - octaves.lowest) * binsPerOctave);
  readonly #stepPeaks: number[] = [];
  #highest = 0;

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#cellsInBlock = Math.max(1, Math.round((blockSeconds * sampleRate) / levelCellFrames));
    this.#cells = new Float64Array(channels);
    this.#blockPeaks = new Float64Array(channels);
  }

  takeCells(channel: number, _frames: number, lows: Float32Array, highs: Float32Array): void {
    let cells = this.#cells[channel];
    let blockPeak = this.#blockPeaks[channel];
    for (let i = 0; i < lows.length; i++) {
      const peak = Math.max(-lows[i], highs[i]);
      const step = Math.floor((cells * levelCellFrames * 10) / this.#rate);
      if (step >= this.#stepPeaks.length) this.#fillTo(step);
      if (peak > this.#stepPeaks[step]) this.#stepPeaks[step] = peak;
      if (peak > blockPeak) blockPeak = peak;
      cells++;
      if (cells % this.#cellsInBlock === 0) {
        this.#add(blockPeak);
        blockPeak = 0;
      }
    }
    this.#cells[channel] = cells;
    this.#blockPeaks[channel] = blockPeak;
  }

  finish(): PeakShapeReading {
    return { stepPeaks: this.#stepPeaks, topShare: this.#topShare(), edgeDb: this.#edgeDb() };
  }

  #fillTo(step: number): void {
    while (this.#stepPeaks.length <= step) this.#stepPeaks.push(0);
  }

  #add(peak: number): void {
    if (peak > this.#highest) this.#highest = peak;
    const bin = Math.floor((Math.log2(peak) - octaves.lowest) * binsPerOctave);
    if (bin >= 0) this.#histogram[Math.min(bin, this.#histogram.length - 1)]++;
  }

  /** Peaks between two levels, dB under the highest; bins are shared out by overlap. */
  #between(nearDb: number, farDb: number): number {
    const bin = (db: number) =>
      (Math.log2(this.#highest) - octaves.lowest - db / amplitudeToDb(2)) * binsPerOctave;
    // The highest peak may lie anywhere in its bin.
    const high = nearDb === 0 ? Math.ceil(bin(0) + 1e-9) : bin(nearDb);
    const low = Math.max(0, bin(farDb));
    let count = 0;
    for (let i = Math.floor(low); i < high && i < this.#histogram.length; i++)
      count += this.#histogram[i] * (Math.min(i + 1, high) - Math.max(i, low));
    return count;
  }

  #topShare(): number | null {
    const all = this.#between(0, quietDb);
    return this.#highest > 0 && all > 0 ? this.#between(0, topDb) / all : null;
  }

  #edgeDb(): number | null {
    const [top, next] = [this.#between(0, topDb), this.#between(topDb, 2 * topDb)];
    return this.#highest > 0 && top + next >= fewest ? 10 * Math.log10((top + 0.5) / (next + 0.5)) : null;
  }
}
