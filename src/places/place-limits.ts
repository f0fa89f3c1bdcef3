import type { Place } from './place.ts';
import { bandCentresHz, bandGains } from './place-curve.ts';
import { songBandCount } from './song-bands.ts';

/** How fast a device's level detector and its highest level act, seconds (assumptions of this project). */
export const limiterTimes = { attackSeconds: 0.03, releaseSeconds: 0.15 } as const;

/**
 * Mean power over a short time that falls slowly: what a device looks at before it turns down. The mean is long against a
 * cycle of the bass, so that a steady tone reads its own power.
 */
export class LevelDetector {
  /** The reading. */
  level = 0;
  readonly #rise: number;
  readonly #fall: number;
  #mean = 0;

  constructor(
    stepSeconds: number,
    times: { readonly attackSeconds: number; readonly releaseSeconds: number },
  ) {
    this.#rise = 1 - Math.exp(-stepSeconds / times.attackSeconds);
    this.#fall = 1 - Math.exp(-stepSeconds / times.releaseSeconds);
  }

  /** As if nothing had been read yet. */
  reset(): void {
    this.level = 0;
    this.#mean = 0;
  }

  /** Takes the power of the next step and gives the reading. */
  next(power: number): number {
    this.#mean += (power - this.#mean) * this.#rise;
    // Below this nothing is heard, and sums that die away must not reach the slow denormals.
    if (this.#mean < 1e-30) this.#mean = 0;
    this.level = Math.max(this.#mean, this.level + (this.#mean - this.level) * this.#fall);
    return this.level;
  }
}

/**
 * A device's protection and highest level, step by step on band powers: the same detectors as in the live processing, only
 * as fine as the steps are. Bass protection looks at what lies below its corner (first order) as if the loudspeaker were
 * flat and turns that part down; the highest level looks at what reaches the listener.
 */
export class PlaceLimits {
  /** What the two took in the last step, dB, 0 or more. */
  bassReductionDb = 0;
  levelReductionDb = 0;
  readonly #response: Float64Array;
  readonly #maximum: number;
  readonly #threshold: number;
  /** (f / corner)^2 by band. */
  readonly #ratio: Float64Array | null;
  readonly #low: LevelDetector | null;
  readonly #all: LevelDetector;

  constructor(place: Place, stepSeconds: number) {
    const { protection } = place;
    this.#response = bandGains(place.response);
    this.#maximum = 10 ** (0.1 * place.maximumDb);
    this.#threshold = protection ? 10 ** (0.1 * protection.thresholdDb) : Number.POSITIVE_INFINITY;
    this.#ratio = protection
      ? Float64Array.from(bandCentresHz, (hertz) => (hertz / protection.belowHz) ** 2)
      : null;
    this.#low = protection ? new LevelDetector(stepSeconds, protection) : null;
    this.#all = new LevelDetector(stepSeconds, limiterTimes);
  }

  /** @param powers of one step before the loudspeaker, over that of 20 uPa; changed into what reaches the listener */
  apply(powers: Float64Array): void {
    let bass = 1;
    const ratio = this.#ratio;
    if (ratio && this.#low) {
      let low = 0;
      for (let b = 0; b < songBandCount; b++) low += powers[b] / (1 + ratio[b]);
      bass = Math.min(1, this.#threshold / this.#low.next(low));
    }
    let all = 0;
    for (let b = 0; b < songBandCount; b++) {
      if (ratio && bass < 1) powers[b] *= (bass + ratio[b]) / (1 + ratio[b]);
      powers[b] *= this.#response[b];
      all += powers[b];
    }
    const level = Math.min(1, this.#maximum / this.#all.next(all));
    if (level < 1) for (let b = 0; b < songBandCount; b++) powers[b] *= level;
    this.bassReductionDb = bass < 1 ? -10 * Math.log10(bass) : 0;
    this.levelReductionDb = level < 1 ? -10 * Math.log10(level) : 0;
  }
}
