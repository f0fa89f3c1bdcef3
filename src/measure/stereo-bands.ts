import { doubles, floats, integers, type Kernels } from '../signal/kernels.ts';
import type { PairSpectrum } from '../signal/pair-spectrum.ts';
import type { PairPower } from './pair-power.ts';
import { StepRows } from './step-rows.ts';
import { type ChannelDelay, channelDelay } from './stereo-delay.ts';
import { leastWeight, type SpectrumTaker } from './tone-over-time.ts';
import { holdsBand, type WideBand, wideBands } from './wide-bands.ts';

export interface StereoBandReading {
  /** The bands that the sample rate holds. */
  readonly bands: readonly WideBand[];
  /** Mean powers over the whole sound, a band each. */
  readonly whole: readonly PairPower[];
  /** The same for each step of time; at most 4096 steps. */
  readonly steps: readonly (readonly PairPower[])[];
  /** Seconds between steps, and the middle of step 0; a step looks at sound two steps wide. */
  readonly stepSeconds: number;
  readonly firstSeconds: number;
  readonly delay: ChannelDelay | null;
}

/** What the first two channels have in common, band by band, from the transforms that the tone meter makes anyway. */
export class StereoBandMeter implements SpectrumTaker {
  readonly #kernels: Kernels;
  readonly #rate: number;
  readonly #size: number;
  readonly #bands: readonly WideBand[];
  /** Groups of four bins: see kernels/stereo.ts. */
  readonly #edges: number;
  readonly #groups: number;
  readonly #sums: number;
  readonly #total: Float64Array;
  readonly #rows = new StepRows();
  #weight = 0;

  /** @param size samples in a frame of the tone meter */
  constructor(kernels: Kernels, sampleRate: number, size: number) {
    this.#kernels = kernels;
    this.#rate = sampleRate;
    this.#size = size;
    this.#bands = wideBands.filter((band) => holdsBand(band, sampleRate));
    const count = this.#bands.length;
    this.#edges = kernels.allocate(4 * (count + 1));
    this.#groups = kernels.allocate((size / 8) * 16);
    this.#sums = kernels.allocate(32 * Math.max(1, count));
    this.#total = new Float64Array(3 * count);
    integers(kernels, this.#edges, count + 1).set(
      [...this.#bands.map(({ lowHz }) => lowHz), this.#bands.at(-1)?.highHz ?? 0].map((hz) =>
        this.#group(hz),
      ),
    );
  }

  takePair(pair: PairSpectrum): void {
    pair.cross(this.#groups, this.#edges, this.#bands.length, this.#sums);
  }

  take(_power: Float64Array, weight: number): void {
    const sums = doubles(this.#kernels, this.#sums, 4 * this.#bands.length);
    const row = new Float64Array(3 * this.#bands.length);
    // A quarter: the kernel leaves out two halvings. One-sided, over the frame: see ToneOverTime.
    const scale = 1 / (this.#size * this.#size);
    for (let b = 0; b < this.#bands.length; b++)
      for (let i = 0; i < 3; i++) row[3 * b + i] = scale * sums[4 * b + i];
    for (let i = 0; i < row.length; i++) this.#total[i] += row[i];
    this.#weight += weight;
    if (weight >= leastWeight) this.#rows.add(row, weight);
  }

  finish(): StereoBandReading {
    const { rows, stepsInRow } = this.#rows.finish();
    const stepSeconds = this.#size / 2 / this.#rate;
    const whole = this.#weight > 0 ? this.#total.map((sum) => sum / this.#weight) : this.#total;
    return {
      bands: this.#bands,
      whole: this.#powers(whole),
      steps: rows.map((row) => this.#powers(row)),
      stepSeconds: stepSeconds * stepsInRow,
      firstSeconds: (stepSeconds * (stepsInRow - 1)) / 2,
      delay: channelDelay(floats(this.#kernels, this.#groups, this.#size / 2), this.#size, this.#rate),
    };
  }

  /** First group at or above a frequency, to the nearest: 4 to 6 Hz apart. */
  #group(hz: number): number {
    return Math.min(this.#size / 8, Math.max(0, Math.round(((hz * this.#size) / this.#rate - 0.5) / 4)));
  }

  #powers(row: Float64Array): PairPower[] {
    return this.#bands.map((_, b) => {
      const left = row[3 * b];
      const right = row[3 * b + 1];
      const common = row[3 * b + 2];
      return {
        left,
        right,
        sum: Math.max(0, left + right + 2 * common),
        difference: Math.max(0, left + right - 2 * common),
      };
    });
  }
}
