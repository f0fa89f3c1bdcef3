import { amplitudeToDb } from '../../signal/decibels.ts';

/** A constant shift of the waveform. */
export interface DcResult {
  /** Mean of the samples of each channel, full scale = 1. */
  readonly offsets: readonly number[];
  /** Size of the largest of them, dBFS; null when every mean is exactly 0. */
  readonly worstDbfs: number | null;
}

/** Means of the channels from running sums. Error: that of adding in double precision, less than 1e-9 of full scale. */
export class DcOffset {
  readonly #sums: Float64Array;

  constructor(channels: number) {
    this.#sums = new Float64Array(channels);
  }

  add(channel: number, sum: number): void {
    this.#sums[channel] += sum;
  }

  finish(frames: number): DcResult {
    const offsets = [...this.#sums].map((sum) => (frames > 0 ? sum / frames : 0));
    const worst = Math.max(0, ...offsets.map(Math.abs));
    return { offsets, worstDbfs: worst > 0 ? amplitudeToDb(worst) : null };
  }
}
