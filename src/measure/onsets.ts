import type { BandCellTaker } from './band-levels.ts';
import { wideBands } from './wide-bands.ts';

/** A cell is held against the loudest of the cells this long before, s: what has been as loud is no onset. */
const lookBackSeconds = 0.045;
/** Two onsets closer than this are one, s. */
const apartSeconds = 0.05;
/** Mean rise of the bands that counts, dB. */
const leastRiseDb = 3;
/** A band adds at most this much, dB, and what lies this far under its loudest of late is nothing, dB. */
const mostRiseDb = 20;
const reach = 10 ** (-40 / 10);
/** How fast 'of late' fades, dB a second. */
const fadeDb = 6;
/** Weights of the bands: few cycles of bass fit into a cell, its level trembles. */
const weights = [0.5, 1, 1, 1, 1];
const weightSum = weights.reduce((sum, weight) => sum + weight, 0);
/** Nothing under this ever counts: -80 dBFS in a band. */
const silence = 1e-8;

/** Hears of every cell as it is looked at. */
export interface OnsetListener {
  /** Mean rise of the bands in the next cell, dB. */
  rise(meanRiseDb: number): void;
  /** An onset at a cell, by its number from 0. */
  onset(cell: number): void;
}

/**
 * Counts onsets: moments at which the level rises by 3 dB on average over the five bands, within about 10 ms, above all
 * that sounded in the 45 ms before. Drums, plucked strings and keys make them; swelling sounds do not. All bounds are
 * heuristic; a test states how many seeded hits it misses and how many it sees in steady noise.
 */
export class OnsetCounter implements BandCellTaker {
  readonly #heard: OnsetListener | undefined;
  readonly #cellSeconds: number;
  readonly #lookBack: number;
  readonly #apart: number;
  readonly #last: Float64Array;
  /** Power of the cells before, a ring for each band, written twice so that it can be read in one go. */
  readonly #ring: readonly Float64Array[];
  readonly #loudest: Float64Array;
  readonly #fade: number;
  #cell = 0;
  #before = 0;
  #candidate = 0;
  #candidateRise = 0;
  #lastOnset = Number.NEGATIVE_INFINITY;
  #count = 0;

  /** @param heard told what is found, cell by cell, for those who want more than the number */
  constructor(cellSeconds: number, heard?: OnsetListener) {
    this.#heard = heard;
    this.#cellSeconds = cellSeconds;
    this.#lookBack = Math.max(2, Math.round(lookBackSeconds / cellSeconds));
    this.#apart = Math.max(1, Math.round(apartSeconds / cellSeconds));
    this.#last = new Float64Array(wideBands.length);
    this.#ring = wideBands.map(() => new Float64Array(2 * (this.#lookBack + 1)).fill(silence));
    this.#loudest = new Float64Array(wideBands.length);
    this.#fade = 10 ** ((-fadeDb * cellSeconds) / 10);
  }

  takeCells(powers: Float64Array, cells: number): void {
    const bands = weights.length;
    const length = this.#lookBack + 1;
    const last = this.#last;
    const loudest = this.#loudest;
    for (let cell = 0; cell < cells; cell++) {
      let rise = 0;
      const ring = this.#cell % length;
      for (let b = 0; b < bands; b++) {
        const own = powers[cell * bands + b];
        // Two cells together: smoother, and a hit on the border of two is seen whole.
        const power = 0.5 * (own + last[b]);
        last[b] = own;
        loudest[b] = Math.max(power, loudest[b] * this.#fade);
        const here = power + silence;
        const past = this.#ring[b];
        let before = 1.5 * silence + loudest[b] * reach;
        // From the oldest on, but for the cell just before, which shares half of its sound with this one.
        for (let at = ring + 1; at < ring + length - 1; at++) if (past[at] > before) before = past[at];
        past[ring] = here;
        past[ring + length] = here;
        // A logarithm only where something rises: that is seldom.
        if (here > before) rise += weights[b] * Math.min(mostRiseDb, 10 * Math.log10(here / before));
      }
      this.#heard?.rise(rise / weightSum);
      this.#look(rise / weightSum);
      this.#cell++;
    }
  }

  /** @param rise of this cell; an onset is where it is highest */
  #look(rise: number): void {
    if (rise >= leastRiseDb && rise > this.#candidateRise) {
      this.#candidate = this.#cell;
      this.#candidateRise = rise;
    } else if (this.#candidateRise > 0 && (rise < this.#before || this.#cell - this.#candidate > 2)) {
      if (this.#candidate - this.#lastOnset >= this.#apart) {
        this.#count++;
        this.#heard?.onset(this.#candidate);
        this.#lastOnset = this.#candidate;
      }
      this.#candidateRise = 0;
    }
    this.#before = rise;
  }

  /** Number of onsets, and seconds of the cells they were looked for in. */
  finish(): { readonly count: number; readonly seconds: number } {
    const pending = this.#candidateRise > 0 && this.#candidate - this.#lastOnset >= this.#apart ? 1 : 0;
    return { count: this.#count + pending, seconds: this.#cell * this.#cellSeconds };
  }
}
