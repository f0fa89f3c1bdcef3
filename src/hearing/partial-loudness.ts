import type { SoundField } from './hearing-threshold.ts';
import {
  addSlopes,
  coreLoudness,
  coreScale,
  criticalBandPowers,
  patternLength,
} from './specific-loudness.ts';
import { bandAdaptation, bandLimits, criticalBands, thresholdLevels } from './zwicker-tables.ts';

/** Places along critical-band rate at which hearing is looked at: every 0.5 Bark. */
const stride = 5;
/** Number of those places: 0.5, 1.0 ... 24 Bark. */
export const placesAlongEar = patternLength / stride;
/** Bark from one place to the next. */
export const barkStep = stride / 10;
/** As in the core loudness of ISO 532-1: what is just heard lies 6 dB under the noise in its critical band. */
const maskedShare = 0.25;

/** Critical band of each place, by index into the tables. */
export const bandOfPlace: Int32Array = Int32Array.from({ length: placesAlongEar }, (_, p) => {
  const bark = (p + 1) * barkStep;
  return Math.min(
    criticalBands - 1,
    bandLimits.findIndex((limit) => bark <= limit + 1e-6),
  );
});
/** Excitation at the threshold in quiet, and N'0, by place. */
const quiet = Float64Array.from(bandOfPlace, (b) => 10 ** (0.1 * (thresholdLevels[b] + bandAdaptation[b])));
const scale = Float64Array.from(bandOfPlace, (b) => coreScale[b]);

/**
 * What is left of a sound under a steady noise, along critical-band rate: Zwicker's excitation patterns (ISO 532-1 core
 * loudness and slopes) of sound and noise, put together as in the partial loudness of Moore, Glasberg and Baer (JAES 45,
 * 1997; from memory): the loudness of both, less the loudness of what is only just heard in the noise, the latter fading
 * as the sound rises above it. In quiet this is ISO 532-1; at the masked threshold it is 0. The join of the two models is
 * this project's own (heuristic).
 *
 * One object serves one noise; `look` costs a few microseconds, so that whole songs can be looked at in steps.
 */
export class PartialLoudness {
  /** Specific partial loudness by place, sone/Bark, after `look`. */
  readonly partial = new Float64Array(placesAlongEar);
  /** Specific loudness without the noise by place, sone/Bark, after `look`. */
  readonly alone = new Float64Array(placesAlongEar);
  /** Excitation over the masked threshold by place, as a power ratio: at least 1 is heard; after `look`. */
  readonly overThreshold = new Float64Array(placesAlongEar);
  /** The same of what a critical band itself holds, without the slopes of the bands below it; after `look`. */
  readonly bandOverThreshold = new Float64Array(criticalBands);
  readonly #field: SoundField;
  readonly #noise = new Float64Array(placesAlongEar);
  readonly #threshold = new Float64Array(placesAlongEar);
  /** Specific loudness of noise and just-heard sound together. */
  readonly #covered = new Float64Array(placesAlongEar);
  /** One over the masked threshold of each critical band's own power. */
  readonly #bandFactor = new Float64Array(criticalBands);
  readonly #bands = new Float64Array(criticalBands);
  readonly #core = new Float64Array(criticalBands + 1);
  readonly #pattern = new Float64Array(patternLength);

  /** @param noise 28 third octaves of the noise, 25 Hz to 12.5 kHz, mean squares over that of 20 uPa; null for quiet */
  constructor(noise: ArrayLike<number> | null, field: SoundField) {
    this.#field = field;
    if (noise) {
      this.#patternOf(noise);
      this.#noise.set(this.alone.map((value, p) => excitation(value, p)));
      // What the standard counts as unheard stays below the threshold in quiet; it masks nothing.
      this.#noise.forEach((value, p) => {
        if (value <= quiet[p] * 1.0001) this.#noise[p] = 0;
      });
    }
    for (let p = 0; p < placesAlongEar; p++) {
      this.#threshold[p] = quiet[p] + maskedShare * this.#noise[p];
      this.#covered[p] = specific(this.#threshold[p] + this.#noise[p], p);
    }
    for (let b = 0; b < criticalBands; b++) {
      const places = Array.from(this.#threshold).filter((_, p) => bandOfPlace[p] === b);
      const threshold = places.reduce((sum, power) => sum + power, 0) / places.length;
      this.#bandFactor[b] = 10 ** (-0.1 * bandAdaptation[b]) / threshold;
    }
  }

  /**
   * Looks at a sound for a moment.
   *
   * @param powers 28 third octaves, 25 Hz to 12.5 kHz, mean squares over that of 20 uPa
   * @returns its partial loudness in sone, summed over half-Bark places
   */
  look(powers: ArrayLike<number>): number {
    this.#patternOf(powers);
    for (let b = 0; b < criticalBands; b++) this.bandOverThreshold[b] = this.#bands[b] * this.#bandFactor[b];
    let total = 0;
    for (let p = 0; p < placesAlongEar; p++) {
      const sound = this.alone[p] > 0 ? excitation(this.alone[p], p) : 0;
      const ratio = sound / this.#threshold[p];
      this.overThreshold[p] = ratio;
      let value = 0;
      if (ratio > 1) {
        // (threshold/sound)^(5/16), near Moore's 0.3, by square roots.
        const fourth = Math.sqrt(Math.sqrt(1 / ratio));
        const fade = fourth * Math.sqrt(Math.sqrt(fourth));
        value = Math.max(0, specific(sound + this.#noise[p], p) - this.#covered[p] * fade);
      }
      this.partial[p] = Math.min(value, this.alone[p]);
      total += this.partial[p];
    }
    return total * barkStep;
  }

  /** Whether critical band `band` would be heard without the noise: its own power over the threshold in quiet; after `look`. */
  bandOverQuiet(band: number): number {
    return this.#bands[band] / 10 ** (0.1 * thresholdLevels[band]);
  }

  #patternOf(powers: ArrayLike<number>): void {
    criticalBandPowers(powers, this.#field, this.#bands);
    coreLoudness(this.#bands, this.#core);
    addSlopes(this.#core, this.#pattern);
    for (let p = 0; p < placesAlongEar; p++) {
      let sum = 0;
      for (let i = p * stride; i < (p + 1) * stride; i++) sum += this.#pattern[i];
      this.alone[p] = sum / stride;
    }
  }
}

/** The excitation whose core loudness this is: the formula of ISO 532-1 turned round. */
function excitation(value: number, place: number): number {
  const root = 1 + value / scale[place];
  const square = root * root;
  return (quiet[place] * (square * square - (1 - maskedShare))) / maskedShare;
}

function specific(power: number, place: number): number {
  const ratio = 1 - maskedShare + (maskedShare * power) / quiet[place];
  return scale[place] * (Math.sqrt(Math.sqrt(Math.max(1, ratio))) - 1);
}
