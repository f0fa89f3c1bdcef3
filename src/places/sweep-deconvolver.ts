import { thirdOctaves } from '../measure/third-octaves.ts';
import { RealFft } from '../signal/fft.ts';
import {
  harmonicLeadSeconds,
  highestHz,
  type SweepPart,
  type SweepPlan,
  secondsAt,
  sweepSamples,
} from './sweep.ts';
import type { FollowedGain } from './sweep-pilots.ts';

/** What of the deconvolved sound is the place: before and after its first arrival, s. */
const beforeSeconds = 0.03;
const afterSeconds = 0.45;
/** Noise is looked at in as long a stretch, twice, later. */
const noiseAt = [0.65, 1.15] as const;

/** One transform and the memory it works in, for all that is transformed at that size. */
export class Transform {
  readonly fft: RealFft;
  readonly time: Float64Array;
  readonly re: Float64Array;
  readonly im: Float64Array;

  constructor(size: number) {
    this.fft = new RealFft(size);
    this.time = new Float64Array(size);
    this.re = new Float64Array(size / 2 + 1);
    this.im = new Float64Array(size / 2 + 1);
  }

  /** Spectrum of `x`, filled with silence or cut, into `re` and `im`. */
  forward(x: Float64Array): void {
    const { fft, time, re, im } = this;
    time.fill(0);
    time.set(x.length > fft.size ? x.subarray(0, fft.size) : x);
    fft.forward(time, re, im);
  }
}

/** One third octave, as one of the sweeps tells it. */
export interface BandReading {
  readonly power: number;
  readonly errorDb: number;
  readonly overNoiseDb: number;
  readonly distortionDb: number | null;
}

/** Undoes one sweep in recordings, and reads what is left band by band. */
export class Deconvolver {
  readonly #plan: SweepPlan;
  readonly #part: SweepPart;
  readonly #rate: number;
  readonly #work: Transform;
  /** Of the stretches that are cut out. */
  readonly #cut: Transform;
  readonly #re: Float64Array;
  readonly #im: Float64Array;

  constructor(plan: SweepPlan, part: SweepPart, sampleRate: number, work: Transform) {
    this.#plan = plan;
    this.#part = part;
    this.#rate = sampleRate;
    this.#work = work;
    this.#cut = new Transform(2 ** Math.ceil(Math.log2(0.6 * sampleRate)));
    work.forward(sweepSamples(plan, part, sampleRate));
    const [re, im] = [work.re.slice(), work.im.slice()];
    // 1 / S within the range of the sweep, held where it has little power.
    const most = re.reduce((top, a, k) => Math.max(top, a * a + im[k] * im[k]), 0);
    const binHz = sampleRate / work.fft.size;
    const lastHz = 1.02 * highestHz(plan, sampleRate);
    for (let k = 0; k < re.length; k++) {
      const hertz = k * binHz;
      const edge = Math.min(1, Math.max(0, (hertz - 0.7 * plan.fromHz) / (0.3 * plan.fromHz)));
      const power = re[k] ** 2 + im[k] ** 2 + 1e-7 * most;
      const gain = hertz > lastHz ? 0 : edge / power;
      re[k] *= gain;
      im[k] *= -gain;
    }
    [this.#re, this.#im] = [re, im];
  }

  /** Where the sweep begins in a recording, and how far that stands out. */
  find(x: Float64Array): { readonly frame: number; readonly overDb: number } {
    const response = this.#deconvolve(x);
    let [peak, frame, sum] = [0, 0, 0];
    for (let n = 0; n < response.length; n++) {
      const size = Math.abs(response[n]);
      sum += size * size;
      if (size > peak) [peak, frame] = [size, n];
    }
    const wrapped = frame > x.length ? frame - response.length : frame;
    return {
      frame: wrapped,
      overDb: 10 * Math.log10((peak * peak * response.length) / Math.max(sum, 1e-300)),
    };
  }

  /** Reads the bands; `x` has even gain and no pilots. */
  measure(x: Float64Array, start: number, clips: readonly number[], gain: FollowedGain): BandReading[] {
    const rate = this.#rate;
    const origin = start + Math.round(this.#part.startSeconds * rate);
    const response = this.#deconvolve(x);
    const scale = 10 ** (-0.1 * this.#part.levelDbfs);
    const cut = new Windows(response, rate, origin, this.#cut);
    const linear = cut.power(0, beforeSeconds, afterSeconds);
    const noises = noiseAt.map((at) => cut.power(at, beforeSeconds, afterSeconds));
    const lead = (n: number) => harmonicLeadSeconds(this.#plan, this.#part, n);
    const room = Math.min(0.1, 0.8 * (lead(5) - lead(4)));
    const harmonics = [2, 3, 4].map((n) => cut.power(-lead(n), 0.25 * room, 0.75 * room));
    const shortNoise = cut.power(noiseAt[0], 0.25 * room, 0.75 * room);
    return thirdOctaves(rate).map((band) => {
      const { lowHz, highHz } = band;
      const bin = (spectrum: Float64Array, factor = 1) =>
        meanWithin(spectrum, cut.binHz, factor * lowHz, Math.min(factor * highHz, rate / 2));
      const noise = noises.reduce((sum, spectrum) => sum + bin(spectrum), 0) / noises.length;
      const raw = bin(linear);
      const power = Math.max(0, raw - noise);
      const ratio = power > 0 ? noise / power : 1e9;
      // Independent values: twice bandwidth times length; noise and its cross term.
      const freedom = Math.max(1, 2 * (highHz - lowHz) * (beforeSeconds + afterSeconds) * 0.7);
      const random = 4.34 * Math.sqrt((2 * ratio + 1.5 * ratio * ratio) / freedom);
      const passed = [lowHz, highHz].map(
        (hertz) =>
          this.#part.startSeconds + secondsAt(this.#plan, this.#part, Math.min(hertz, this.#plan.toHz)),
      );
      const clipped = clips.some((t) => t > passed[0] - 0.05 && t < passed[1] + 0.1);
      const outside = lowHz < 0.98 * this.#plan.fromHz || highHz > 1.02 * highestHz(this.#plan, rate);
      // A stretch of half a second, faded in over 24 ms, is short against the lowest cycles.
      const short = lowHz < 35 ? 1 : 0;
      const [from, to] = [passed[0], passed[1] + 0.05].map((t) => Math.round(t / gain.hopSeconds));
      const gainError = Math.max(...gain.errorsDb.subarray(from, to + 1));
      const distortion = harmonics.reduce(
        (sum, spectrum, i) => sum + ((i + 2) * highHz < this.#plan.toHz ? bin(spectrum, i + 2) : 0),
        0,
      );
      const least =
        3 * [2, 3, 4].reduce((sum, n) => sum + (n * highHz < rate / 2 ? bin(shortNoise, n) : 0), 0);
      return {
        power: power * scale,
        errorDb: Math.hypot(random * 1.3, gainError) + short + (clipped || outside ? 6 : 0),
        overNoiseDb: -10 * Math.log10(Math.max(1e-12, ratio)),
        distortionDb:
          distortion > least && power > 0 && 2 * highHz < this.#plan.toHz
            ? 10 * Math.log10(distortion / power)
            : null,
      };
    });
  }

  /** Lent until the next call. */
  #deconvolve(x: Float64Array): Float64Array {
    const { fft, time, re, im } = this.#work;
    this.#work.forward(x);
    for (let k = 0; k < re.length; k++) {
      const [a, b] = [re[k], im[k]];
      re[k] = a * this.#re[k] - b * this.#im[k];
      im[k] = a * this.#im[k] + b * this.#re[k];
    }
    fft.inverse(re, im, time);
    return time;
  }
}

/** Stretches cut out of a deconvolved recording. */
class Windows {
  readonly binHz: number;
  readonly #response: Float64Array;
  readonly #rate: number;
  readonly #origin: number;
  readonly #work: Transform;

  constructor(response: Float64Array, rate: number, origin: number, work: Transform) {
    this.#response = response;
    this.#rate = rate;
    this.#origin = origin;
    this.#work = work;
    this.binHz = rate / work.fft.size;
  }

  /** Power spectrum of a stretch around a time after the first arrival; its ends faded over a fifth. */
  power(atSeconds: number, before: number, after: number): Float64Array {
    const { fft, time, re, im } = this.#work;
    const first = this.#origin + Math.round((atSeconds - before) * this.#rate);
    const length = Math.round((before + after) * this.#rate);
    time.fill(0);
    const [rise, fall] = [0.8 * before * this.#rate, 0.2 * after * this.#rate];
    for (let i = 0; i < length; i++) {
      const n = (first + i + 2 * this.#response.length) % this.#response.length;
      const edge = Math.min(1, (i + 0.5) / rise, (length - i - 0.5) / fall);
      time[i] = this.#response[n] * (0.5 - 0.5 * Math.cos(Math.PI * edge));
    }
    fft.forward(time, re, im);
    return re.map((a, k) => a * a + im[k] * im[k]);
  }
}

/** Mean over a band; between bins straight, so that narrow bands get their share. */
export function meanWithin(spectrum: Float64Array, binHz: number, lowHz: number, highHz: number): number {
  const points = Math.max(3, Math.ceil((2 * (highHz - lowHz)) / binHz));
  let sum = 0;
  for (let i = 0; i < points; i++) {
    const position = (lowHz + ((highHz - lowHz) * (i + 0.5)) / points) / binHz;
    const k = Math.min(spectrum.length - 2, Math.floor(position));
    sum += spectrum[k] + (position - k) * (spectrum[k + 1] - spectrum[k]);
  }
  return sum / points;
}
