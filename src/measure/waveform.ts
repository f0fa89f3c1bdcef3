import type { Traces } from './measurement.ts';

/** Most steps of the overview. */
const mostSteps = 4000;

/**
 * Overview of the waveform of a sound whose length is not known beforehand: lowest and highest sample in equal
 * steps. When there would be too many, neighbours are joined and the step doubles; so a long sound ends with
 * 2000 to 4000 steps.
 */
export class WaveformOverview {
  readonly #rate: number;
  readonly #cellFrames: number;
  /** Cells in a step. */
  #cells = 1;
  #cellsInLast = 0;
  readonly #min: number[] = [];
  readonly #max: number[] = [];

  /** @param cellFrames frames in one cell as it is added */
  constructor(sampleRate: number, cellFrames: number) {
    this.#rate = sampleRate;
    this.#cellFrames = cellFrames;
  }

  /** The next cell, all channels together. */
  add(low: number, high: number): void {
    const last = this.#min.length - 1;
    if (last >= 0 && this.#cellsInLast < this.#cells) {
      if (low < this.#min[last]) this.#min[last] = low;
      if (high > this.#max[last]) this.#max[last] = high;
      this.#cellsInLast++;
      return;
    }
    if (this.#min.length === mostSteps) {
      this.#halve();
      this.#cellsInLast = this.#cells;
    }
    this.#min.push(low);
    this.#max.push(high);
    this.#cellsInLast = 1;
  }

  finish(): Traces['waveform'] {
    return {
      stepSeconds: (this.#cells * this.#cellFrames) / this.#rate,
      min: this.#min,
      max: this.#max,
    };
  }

  #halve(): void {
    const half = mostSteps / 2;
    for (let i = 0; i < half; i++) {
      this.#min[i] = Math.min(this.#min[2 * i], this.#min[2 * i + 1]);
      this.#max[i] = Math.max(this.#max[2 * i], this.#max[2 * i + 1]);
    }
    this.#min.length = half;
    this.#max.length = half;
    this.#cells *= 2;
  }
}
