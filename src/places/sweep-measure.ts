import { pcmAtRate } from '../audio/at-rate.ts';
import type { Pcm } from '../audio/pcm.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import { RealFft } from '../signal/fft.ts';
import type { Curve } from './place.ts';
import { curveDb } from './place-curve.ts';
import {
  harmonicLeadSeconds,
  highestHz,
  type SweepPart,
  type SweepPlan,
  secondsAt,
  sweepSamples,
} from './sweep.ts';
import { evenGain, type FollowedGain } from './sweep-pilots.ts';

export interface MeasuredBand {
  readonly centreHz: number;
  /** Response against its middle, dB; null where nothing can be said. */
  readonly db: number | null;
  /** Expected error, dB. */
  readonly errorDb: number;
  /** Whether that is small enough to build on: at most 0.5 dB, and nothing was clipped there. */
  readonly sure: boolean;
  /** Sweep over noise, dB, as deconvolved. */
  readonly overNoiseDb: number;
  /** Second to fourth harmonic of this band's tones against the tone, dB; null where noise or the range forbids. */
  readonly distortionDb: number | null;
  /** Noise of the place as recorded, dB against the others; null where the recording does not reach. */
  readonly noiseDb: number | null;
}

export interface MeasuredResponse {
  readonly bands: readonly MeasuredBand[];
  /** Where in the recording the signal began, s; may be before its start. */
  readonly startSeconds: number;
  /** How sharply it was found: peak of the deconvolved sound over its usual size, dB. */
  readonly foundDb: number;
  /** How far the recorder's gain moved during the sweep, dB; null when it could not be followed. */
  readonly gainMovedDb: number | null;
  readonly clipped: boolean;
}

/** What of the deconvolved sound is the place: before and after its first arrival, s. */
const beforeSeconds = 0.03;
const afterSeconds = 0.45;
/** Noise is looked at in as long a stretch, twice, later. */
const noiseAt = [0.65, 1.15] as const;
/** Below this the signal is not in the recording, dB (heuristic: noise alone reaches 14 to 16). */
const leastFoundDb = 20;
const sureWithinDb = 0.5;
/** Recordings at a higher rate are brought to this one: no sweep reaches beyond it, and transforms take their time, Hz. */
const highestRate = 48000;

/**
 * Makes a response out of nothing but a recording of the measuring signal: finds it, evens the recorder's gain out by the
 * pilots, deconvolves, and tells the linear response, harmonics and noise apart by where they arrive.
 *
 * @param microphone response of the microphone, taken out; dB
 * @returns null when the signal is not in the recording
 */
export function measureSweep(
  recording: Pcm,
  plan: SweepPlan,
  microphone: Curve | null = null,
): MeasuredResponse | null {
  const at = Math.min(recording.sampleRate, highestRate);
  const frames = Math.ceil((recording.channels[0].length * at) / recording.sampleRate);
  return new SweepMeasurer(plan, at, frames).measure(recording, microphone);
}

/** `measureSweep` for several recordings of one rate, none longer than `frames`: the sweeps are transformed only once. */
export class SweepMeasurer {
  readonly #plan: SweepPlan;
  readonly #rate: number;
  readonly #work: Transform;
  readonly #main: Deconvolver;
  #quiet: Deconvolver | null = null;

  constructor(plan: SweepPlan, sampleRate: number, frames: number) {
    this.#plan = plan;
    this.#rate = sampleRate;
    const longest = Math.ceil((Math.max(plan.main.seconds, plan.quiet.seconds) + 2) * sampleRate);
    this.#work = new Transform(2 ** Math.ceil(Math.log2(Math.max(frames, longest))));
    this.#main = new Deconvolver(plan, plan.main, sampleRate, this.#work);
  }

  measure(recording: Pcm, microphone: Curve | null = null): MeasuredResponse | null {
    const rate = this.#rate;
    const plan = this.#plan;
    const taken = recording.sampleRate > highestRate ? pcmAtRate(recording, rate) : recording;
    if (taken.sampleRate !== rate) throw new RangeError(`a recording at ${rate} Hz is expected here`);
    const x = mono(taken);
    const found = this.#main.find(x);
    if (found.overDb < leastFoundDb) return null;
    const start = Math.round(found.frame - plan.main.startSeconds * rate);
    // At its own rate: a wave that was cut off is round again at another.
    const whole = taken === recording ? x : mono(recording);
    const clips = clippedTimes(whole, start / rate, recording.sampleRate);
    const gain = evenGain(x, start, plan, rate, clips);
    const parts = [this.#main.measure(x, start, clips, gain)];
    // The quiet sweep is worth its time only where the main one was cut off.
    if (clips.length > 0) {
      this.#quiet ??= new Deconvolver(plan, plan.quiet, rate, this.#work);
      parts.push(...levelled(this.#quiet.measure(x, start, clips, gain), parts[0]));
    }
    const noise = noiseSpectrum(x, start, plan, rate);
    const bands = thirdOctaves(rate).flatMap((band, b): MeasuredBand[] => {
      if (band.nominalHz > plan.toHz) return [];
      const best = parts.reduce((a, c) => (c[b].errorDb < a[b].errorDb - 1e-9 ? c : a))[b];
      const centreHz = Math.sqrt(band.lowHz * band.highHz);
      const microphoneDb = microphone ? curveDb(microphone, centreHz) : 0;
      return [
        {
          centreHz,
          db: best.power > 0 ? 10 * Math.log10(best.power) - microphoneDb : null,
          errorDb: best.errorDb,
          sure: best.power > 0 && best.errorDb <= sureWithinDb,
          overNoiseDb: best.overNoiseDb,
          distortionDb: parts[0][b].distortionDb,
          noiseDb: noise[b] === null ? null : noise[b] - microphoneDb,
        },
      ];
    });
    return {
      bands: aroundMiddle(bands),
      startSeconds: start / rate,
      foundDb: found.overDb,
      gainMovedDb: gain.followed ? gain.movedDb : null,
      clipped: clips.length > 0,
    };
  }
}

function mono({ channels }: Pcm): Float64Array {
  const sum = new Float64Array(channels[0].length);
  for (const channel of channels) for (let n = 0; n < sum.length; n++) sum[n] += channel[n] / channels.length;
  return sum;
}

/**
 * Times from the signal's start, s, at which the waveform stands at its highest value. A wave that was cut off spends far
 * more time at its very top than just below; of a whole sine 32 % of the highest 0.5 % are within the highest 0.05 %.
 */
function clippedTimes(x: Float64Array, startSeconds: number, sampleRate: number): number[] {
  let peak = 0;
  for (let n = 0; n < x.length; n++) peak = Math.max(peak, Math.abs(x[n]));
  const times: number[] = [];
  let near = 0;
  for (let n = 0; n < x.length; n++) {
    const size = Math.abs(x[n]);
    if (size > 0.995 * peak) near++;
    if (size > 0.9995 * peak) times.push(n / sampleRate - startSeconds);
  }
  return times.length >= 8 && times.length > 0.55 * near ? times : [];
}

/** One transform and the memory it works in, for all that is transformed at that size. */
class Transform {
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

interface BandReading {
  readonly power: number;
  readonly errorDb: number;
  readonly overNoiseDb: number;
  readonly distortionDb: number | null;
}

/** Bands that both sweeps must be sure of before one may stand for the other. */
const leastShared = 4;

/**
 * The quiet sweep at the level of the main one, by the bands that both are sure of: a pilot under a wave that is cut off is
 * pressed too, and the two may stand apart by decibels. Nothing when they share too few bands or do not agree there.
 */
function levelled(quiet: readonly BandReading[], main: readonly BandReading[]): BandReading[][] {
  const sure = ({ power, errorDb }: BandReading) => power > 0 && errorDb <= sureWithinDb;
  const apart = quiet
    .flatMap((reading, b) =>
      sure(reading) && sure(main[b]) ? [10 * Math.log10(main[b].power / reading.power)] : [],
    )
    .sort((a, b) => a - b);
  if (apart.length < leastShared) return [];
  const middle = apart[apart.length >> 1];
  const spread = apart[Math.floor(0.75 * apart.length)] - apart[Math.floor(0.25 * apart.length)];
  if (spread > 1) return [];
  const factor = 10 ** (0.1 * middle);
  return [
    quiet.map((reading) => ({
      ...reading,
      power: reading.power * factor,
      errorDb: Math.hypot(reading.errorDb, spread / 2),
    })),
  ];
}

class Deconvolver {
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
function meanWithin(spectrum: Float64Array, binHz: number, lowHz: number, highHz: number): number {
  const points = Math.max(3, Math.ceil((2 * (highHz - lowHz)) / binHz));
  let sum = 0;
  for (let i = 0; i < points; i++) {
    const position = (lowHz + ((highHz - lowHz) * (i + 0.5)) / points) / binHz;
    const k = Math.min(spectrum.length - 2, Math.floor(position));
    sum += spectrum[k] + (position - k) * (spectrum[k + 1] - spectrum[k]);
  }
  return sum / points;
}

/** Third-octave levels of the recording after the sweep has died away, at even gain, dB against full scale. */
function noiseSpectrum(x: Float64Array, start: number, plan: SweepPlan, rate: number): (number | null)[] {
  const from = start + Math.round((plan.main.startSeconds + plan.main.seconds + 0.7) * rate);
  const to = Math.min(x.length, start + Math.round((plan.pilots.endSeconds - 0.1) * rate));
  const size = 2 ** Math.floor(Math.log2(Math.max(2, to - from)));
  if (from < 0 || size < 0.2 * rate) return thirdOctaves(rate).map(() => null);
  const fft = new RealFft(size);
  const time = Float64Array.from(
    { length: size },
    (_, i) => x[from + i] * Math.sin((Math.PI * (i + 0.5)) / size),
  );
  const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  fft.forward(time, re, im);
  const power = re.map((a, k) => (4 * (a * a + im[k] * im[k])) / (size * size));
  return thirdOctaves(rate).map(({ lowHz, highHz }) => {
    const binHz = rate / size;
    const mean = meanWithin(power, binHz, lowHz, Math.min(highHz, rate / 2));
    return 10 * Math.log10(Math.max(1e-15, (mean * (Math.min(highHz, rate / 2) - lowHz)) / binHz));
  });
}

/** Sets the mean of 500 Hz to 2 kHz, or of all that is sure, to 0 dB. */
function aroundMiddle(bands: readonly MeasuredBand[]): MeasuredBand[] {
  const sure = bands.filter((band) => band.sure && band.db !== null);
  const middle = sure.filter(({ centreHz }) => centreHz > 450 && centreHz < 2200);
  const taken = middle.length > 0 ? middle : sure;
  const mean = taken.length > 0 ? taken.reduce((sum, { db }) => sum + db!, 0) / taken.length : 0;
  return bands.map((band) => ({ ...band, db: band.db === null ? null : band.db - mean }));
}
