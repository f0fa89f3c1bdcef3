import { minimumPhaseTaps, type Spectrum } from './minimum-phase.ts';
import { PartitionedFilter, partitionFrames } from './partitioned-filter.ts';
import type { Curve, Place } from './place.ts';
import { bandCentresHz, noisePowers } from './place-curve.ts';
import { LevelDetector, limiterTimes } from './place-limits.ts';

export interface PlaceSettings {
  /** dB SPL at the listener that a signal of RMS 1 has where the place's response is 0 dB: from `powerGainFor`. */
  readonly fullScaleDb: number;
  /**
   * On what it is played: headphones get the sound of loudspeakers around the head, loudspeakers make that themselves.
   */
  readonly playedOn: 'headphones' | 'loudspeakers';
  /** dB SPL that the listener's own equipment makes of an RMS of 1; null leaves the level of the file as it is. */
  readonly monitorFullScaleDb: number | null;
  /** Whether the place's noise is added; only with a known monitor level is it as loud as it says, else in proportion. */
  readonly noise: boolean;
}

/** Length of the filters at 48 kHz, 85 ms: a corner of 20 Hz has died away. */
const filterSeconds = 4096 / 48000;
/** Where the noise begins, the same every time. */
const firstSeed = 0x2545f491;
/** Radius of the head, m, and speed of sound, m/s: Woodworth's formula (from memory). */
const head = { radius: 0.0875, soundSpeed: 343 };

/** A place's filters, which take some milliseconds to be worked out: elsewhere than where sound must not stop. Plain data. */
export interface PlaceFilters {
  /** From a loudspeaker to the ear on its side and to the other one; null where that hears nothing of it. */
  readonly near: Float64Array;
  readonly far: Float64Array | null;
  /** Over white noise of RMS 1; null without noise. */
  readonly noise: Float64Array | null;
}

export function placeFilters(place: Place, settings: PlaceSettings, sampleRate: number): PlaceFilters {
  const length = Math.ceil((filterSeconds * sampleRate) / partitionFrames) * partitionFrames;
  const { layout, response } = place;
  const across = layout.kind === 'stereo' && settings.playedOn === 'headphones' ? layout.angleDegrees : null;
  const ear = (shadow: typeof nearEar) =>
    minimumPhaseTaps(response, sampleRate, length, (spectrum, binHz) => shadow(spectrum, binHz, across ?? 0));
  const unit = 10 ** (-0.1 * monitorDb(settings));
  return {
    near: across === null ? minimumPhaseTaps(response, sampleRate, length) : ear(nearEar),
    far: across === null ? null : ear(farEar),
    noise:
      settings.noise && place.noise
        ? minimumPhaseTaps(noiseDensity(noisePowers(place.noise), unit, sampleRate), sampleRate, length)
        : null,
  };
}

/** Level of an RMS of 1 that comes out, dB SPL. */
function monitorDb({ monitorFullScaleDb, fullScaleDb }: PlaceSettings): number {
  return monitorFullScaleDb ?? fullScaleDb;
}

/**
 * Sound as it is in a place: two channels in, two out, in blocks of any size, bit for bit the same however it is cut, and the
 * same code offline and in an AudioWorklet. Bass protection, then loudspeaker and room as minimum-phase filters, then the
 * highest level, then noise. Late by `latencyFrames`. No clock, no outside randomness: the noise is seeded.
 */
export class PlaceProcessor {
  /** Frames by which the output is later than the input. */
  readonly latencyFrames = partitionFrames;
  /** After so many frames the filters remember nothing of what was before. */
  readonly settledFrames: number;
  readonly #filter: PartitionedFilter;
  readonly #noise: PartitionedFilter | null;
  readonly #protection: BassProtection | null;
  readonly #mix: readonly [same: number, other: number];
  readonly #inGain: number;
  readonly #maximum: number;
  readonly #level: LevelDetector;
  readonly #in: readonly Float64Array[];
  readonly #out: readonly Float64Array[];
  readonly #hiss: readonly Float64Array[];
  readonly #shaped: readonly Float64Array[];
  #filled = 0;
  #seed = firstSeed;

  /** @param filters of the same place, settings and rate, where they were worked out before */
  constructor(
    place: Place,
    settings: PlaceSettings,
    sampleRate: number,
    filters: PlaceFilters = placeFilters(place, settings, sampleRate),
  ) {
    const { layout } = place;
    const { near, far, noise } = filters;
    this.#filter = new PartitionedFilter([
      [near, far],
      [far, near],
    ]);
    this.settledFrames = near.length + partitionFrames;
    const side = layout.kind === 'mono' ? 0 : layout.kind === 'narrow' ? 10 ** (layout.sideDb / 20) : 1;
    this.#mix = [(1 + side) / 2, (1 - side) / 2];
    // Inside, 1 is the level of 20 uPa less 0 dB: detectors see what they would see there. Out again at the end.
    const monitor = monitorDb(settings);
    this.#inGain = 10 ** ((settings.fullScaleDb - monitor) / 20);
    const unit = 10 ** (-0.1 * monitor);
    this.#maximum = 10 ** (0.1 * place.maximumDb) * unit;
    this.#level = new LevelDetector(1 / sampleRate, limiterTimes);
    this.#protection = place.protection
      ? new BassProtection(place.protection, 10 ** (0.1 * place.protection.thresholdDb) * unit, sampleRate)
      : null;
    const pair = () => [new Float64Array(partitionFrames), new Float64Array(partitionFrames)];
    [this.#in, this.#out, this.#hiss, this.#shaped] = [pair(), pair(), pair(), pair()];
    this.#noise =
      noise &&
      new PartitionedFilter([
        [noise, null],
        [null, noise],
      ]);
  }

  /**
   * Takes `frames` of both inputs and gives as many of both outputs (which may be the same arrays).
   */
  process(
    left: Float32Array,
    right: Float32Array,
    outLeft: Float32Array,
    outRight: Float32Array,
    frames = left.length,
  ): void {
    for (let n = 0; n < frames; n++) {
      const at = this.#filled;
      this.#in[0][at] = left[n];
      this.#in[1][at] = right[n];
      outLeft[n] = this.#out[0][at];
      outRight[n] = this.#out[1][at];
      this.#filled++;
      if (this.#filled === partitionFrames) this.#partition();
    }
  }

  /** As if nothing had been heard yet. */
  reset(): void {
    for (const channel of this.#out) channel.fill(0);
    this.#filter.reset();
    this.#noise?.reset();
    this.#protection?.reset();
    this.#level.reset();
    this.#filled = 0;
    this.#seed = firstSeed;
  }

  #partition(): void {
    this.#filled = 0;
    const [first, second] = this.#in;
    const [same, other] = this.#mix;
    for (let n = 0; n < partitionFrames; n++) {
      const [l, r] = [this.#inGain * first[n], this.#inGain * second[n]];
      first[n] = same * l + other * r;
      second[n] = same * r + other * l;
    }
    this.#protection?.process(first, second);
    this.#filter.process(this.#in, this.#out);
    const [left, right] = this.#out;
    for (let n = 0; n < partitionFrames; n++) {
      const level = this.#level.next((left[n] * left[n] + right[n] * right[n]) / 2);
      if (level > this.#maximum) {
        const gain = Math.sqrt(this.#maximum / level);
        left[n] *= gain;
        right[n] *= gain;
      }
    }
    if (!this.#noise) return;
    for (const channel of this.#hiss) for (let n = 0; n < partitionFrames; n++) channel[n] = this.#random();
    this.#noise.process(this.#hiss, this.#shaped);
    for (let n = 0; n < partitionFrames; n++) {
      left[n] += this.#shaped[0][n];
      right[n] += this.#shaped[1][n];
    }
  }

  /** White noise of RMS 1, even between +-sqrt(3): xorshift32 (Marsaglia 2003). */
  #random(): number {
    let x = this.#seed;
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    this.#seed = x;
    return (x / 2 ** 31) * Math.sqrt(3);
  }
}

/** Takes back what lies below a corner when it grows too strong: a shelf of first order whose depth follows the bass. */
class BassProtection {
  readonly #keep: number;
  readonly #threshold: number;
  readonly #level: LevelDetector;
  readonly #low = [0, 0];

  constructor(settings: NonNullable<Place['protection']>, threshold: number, sampleRate: number) {
    this.#keep = Math.exp((-2 * Math.PI * settings.belowHz) / sampleRate);
    this.#threshold = threshold;
    this.#level = new LevelDetector(1 / sampleRate, settings);
  }

  reset(): void {
    this.#level.reset();
    this.#low.fill(0);
  }

  process(left: Float64Array, right: Float64Array): void {
    for (let n = 0; n < left.length; n++) {
      const l = left[n] + (this.#low[0] - left[n]) * this.#keep;
      const r = right[n] + (this.#low[1] - right[n]) * this.#keep;
      this.#low[0] = Math.abs(l) < 1e-30 ? 0 : l;
      this.#low[1] = Math.abs(r) < 1e-30 ? 0 : r;
      const level = this.#level.next((l * l + r * r) / 2);
      if (level <= this.#threshold) continue;
      const less = 1 - Math.sqrt(this.#threshold / level);
      left[n] -= less * l;
      right[n] -= less * r;
    }
  }
}

/** Third-octave powers as the gain of a filter over white noise of RMS 1, which has 2/rate a hertz. */
function noiseDensity(powers: Float64Array, unit: number, sampleRate: number): Curve {
  return bandCentresHz.flatMap((hertz, b) => {
    if (hertz > sampleRate / 2) return [];
    const width = hertz * (10 ** 0.05 - 10 ** -0.05);
    return [{ hertz, db: 10 * Math.log10(Math.max(1e-12, (powers[b] * unit * sampleRate) / (2 * width))) }];
  });
}

/**
 * What a head makes of a loudspeaker at an angle: the far ear later (Woodworth) and duller, the near one a little brighter
 * (Brown and Duda's one-pole head, JASA 1998; from memory). The two ears' mean power stays that of the loudspeaker.
 */
function nearEar(spectrum: Spectrum, binHz: number, angleDegrees: number): void {
  headShadow(spectrum, binHz, 90 - angleDegrees, 0);
}

function farEar(spectrum: Spectrum, binHz: number, angleDegrees: number): void {
  const angle = (angleDegrees * Math.PI) / 180;
  headShadow(spectrum, binHz, 90 + angleDegrees, (head.radius / head.soundSpeed) * (angle + Math.sin(angle)));
}

/** @param fromEarDegrees angle between the loudspeaker and the ear's own axis */
function headShadow({ re, im }: Spectrum, binHz: number, fromEarDegrees: number, delaySeconds: number): void {
  const least = 0.1;
  const alpha = 1 + least / 2 + (1 - least / 2) * Math.cos((fromEarDegrees / 150) * Math.PI);
  const corner = head.soundSpeed / head.radius / Math.PI;
  for (let k = 0; k < re.length; k++) {
    const x = (k * binHz) / corner;
    // (1 + j alpha x) / (1 + j x), and half of the power to each ear.
    const gain = Math.SQRT1_2 / (1 + x * x);
    const [a, b] = [gain * (1 + alpha * x * x), gain * (alpha * x - x)];
    const turn = -2 * Math.PI * k * binHz * delaySeconds;
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const [hr, hi] = [a * c - b * s, a * s + b * c];
    const [r, i] = [re[k], im[k]];
    re[k] = r * hr - i * hi;
    im[k] = r * hi + i * hr;
  }
}
