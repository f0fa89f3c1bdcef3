import { powerToDb } from '../../signal/decibels.ts';

/** What lies below hearing. */
export interface SubsonicResult {
  /** Power from 2 to 20 Hz relative to everything from 2 Hz up, dB; null for silence and sounds shorter than 3 to 6 s. DC is told apart. */
  readonly shareDb: number | null;
  /** Its level, dBFS (0 dBFS = mean square 1, all channels added); null likewise. */
  readonly levelDbfs: number | null;
}

const fromHz = 2;
const toHz = 20;

/** Adds up the power below 20 Hz over all fine spectra. */
export class SubsonicMeter {
  readonly #from: number;
  readonly #to: number;
  #low = 0;
  #frames = 0;

  constructor(binHz: number) {
    this.#from = Math.ceil(fromHz / binHz);
    this.#to = Math.floor(toHz / binHz);
  }

  take(power: Float64Array): void {
    const to = Math.min(this.#to, power.length - 1);
    for (let k = this.#from; k <= to; k++) this.#low += power[k];
    this.#frames++;
  }

  /** Mean power from 2 to 20 Hz, all channels added; 0 where there was no spectrum. */
  finish(): number {
    return this.#frames > 0 ? this.#low / this.#frames : 0;
  }
}

/**
 * @param low mean power from 2 to 20 Hz
 * @param meanSquare of the whole sound without DC; both with all channels added
 */
export function subsonicOf(low: number, meanSquare: number): SubsonicResult {
  if (low <= 0 || meanSquare <= 0) return { shareDb: null, levelDbfs: null };
  return { shareDb: powerToDb(Math.min(1, low / meanSquare)), levelDbfs: powerToDb(low) };
}
