import type { Pcm } from '../audio/pcm.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import { RealFft } from '../signal/fft.ts';
import type { Curve } from './place.ts';
import { curveDb } from './place-curve.ts';
import { harmonicLeadSeconds, type SweepPart, type SweepPlan, secondsAt, sweepSamples } from './sweep.ts';
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
  const frames = recording.channels[0].length;
  return new SweepMeasurer(plan, recording.sampleRate, frames).measure(recording, microphone);
}

/** `measureSweep` for several recordings of one rate, none longer than `frames`: the sweeps are transformed only once. */
export class SweepMeasurer {
  readonly #plan: SweepPlan;
  readonly #rate: number;
  readonly #main: Deconvolver;
  readonly #quiet: Deconvolver;

  constructor(plan: SweepPlan, sampleRate: number, frames: number) {
    this.#plan = plan;
    this.#rate = sampleRate;
    this.#main = new Deconvolver(plan, plan.main, sampleRate, frames);
    this.#quiet = new Deconvolver(plan, plan.quiet, sampleRate, frames);
  }

  measure(recording: Pcm, microphone: Curve | null = null): MeasuredResponse | null {
    const rate = this.#rate;
    const plan = this.#plan;
    if (recording.sampleRate !== rate) throw new RangeError(`a recording at ${rate} Hz is expected here`);
    const x = mono(recording);
    const found = this.#main.find(x);
    if (found.overDb < leastFoundDb) return null;
    const start = Math.round(found.frame - plan.main.startSeconds * rate);
    const clips = clippedTimes(x, start, rate);
    const gain = evenGain(x, start, plan, rate, clips);
    const parts = [this.#main.measure(x, start, clips, gain)];
    // The quiet sweep is worth its time only where the main one was cut off.
    if (clips.length > 0) parts.push(...levelled(this.#quiet.measure(x, start, clips, gain), parts[0]));
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
  return Float64Array.from(channels[0], (_, n) => {
    let sum = 0;
    for (const channel of channels) sum += channel[n];
    return sum / channels.length;
  });
}

/**
 * Times from the signal's start, s, at which the waveform stands at its highest value. A wave that was cut off spends far
 * more time at its very top than just below; of a whole sine 32 % of the highest 0.5 % are within the highest 0.05 %.
 */
function clippedTimes(x: Float64Array, start: number, sampleRate: number): number[] {
  let peak = 0;
  for (const v of x) peak = Math.max(peak, Math.abs(v));
  const times: number[] = [];
  let near = 0;
  for (let n = 0; n < x.length; n++) {
    const size = Math.abs(x[n]);
    if (size > 0.995 * peak) near++;
    if (size > 0.9995 * peak) times.push((n - start) / sampleRate);
  }
  return times.length >= 8 && times.length > 0.55 * near ? times : [];
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
  readonly #fft: RealFft;
  readonly #re: Float64Array;
  readonly #im: Float64Array;

  constructor(plan: SweepPlan, part: SweepPart, sampleRate: number, frames: number) {
    this.#plan = plan;
    this.#part = part;
    this.#rate = sampleRate;
    const sweep = sweepSamples(plan, part, sampleRate);
    this.#fft = new RealFft(2 ** Math.ceil(Math.log2(Math.max(frames, sweep.length + 2 * sampleRate))));
    const { size } = this.#fft;
    const padded = new Float64Array(size);
    padded.set(sweep);
    const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
    this.#fft.forward(padded, re, im);
    // 1 / S within the range of the sweep, held where it has little power.
    const most = re.reduce((top, a, k) => Math.max(top, a * a + im[k] * im[k]), 0);
    const binHz = sampleRate / size;
    for (let k = 0; k < re.length; k++) {
      const hertz = k * binHz;
      const edge = Math.min(1, Math.max(0, (hertz - 0.7 * plan.fromHz) / (0.3 * plan.fromHz)));
      const power = re[k] ** 2 + im[k] ** 2 + 1e-7 * most;
      const gain = hertz > 1.02 * plan.toHz ? 0 : edge / power;
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
    const cut = new Windows(response, rate, origin);
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
      const outside = lowHz < 0.98 * this.#plan.fromHz || highHz > 1.02 * this.#plan.toHz;
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

  #deconvolve(x: Float64Array): Float64Array {
    const { size } = this.#fft;
    const time = new Float64Array(size);
    time.set(x.length > size ? x.subarray(0, size) : x);
    const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
    this.#fft.forward(time, re, im);
    for (let k = 0; k < re.length; k++) {
      const [a, b] = [re[k], im[k]];
      re[k] = a * this.#re[k] - b * this.#im[k];
      im[k] = a * this.#im[k] + b * this.#re[k];
    }
    this.#fft.inverse(re, im, time);
    return time;
  }
}

/** Stretches cut out of a deconvolved recording. */
class Windows {
  readonly binHz: number;
  readonly #response: Float64Array;
  readonly #rate: number;
  readonly #origin: number;
  readonly #fft: RealFft;

  constructor(response: Float64Array, rate: number, origin: number) {
    this.#response = response;
    this.#rate = rate;
    this.#origin = origin;
    this.#fft = new RealFft(2 ** Math.ceil(Math.log2(0.6 * rate)));
    this.binHz = rate / this.#fft.size;
  }

  /** Power spectrum of a stretch around a time after the first arrival; its ends faded over a fifth. */
  power(atSeconds: number, before: number, after: number): Float64Array {
    const { size } = this.#fft;
    const first = this.#origin + Math.round((atSeconds - before) * this.#rate);
    const length = Math.round((before + after) * this.#rate);
    const time = new Float64Array(size);
    const [rise, fall] = [0.8 * before * this.#rate, 0.2 * after * this.#rate];
    for (let i = 0; i < length; i++) {
      const n = (first + i + 2 * this.#response.length) % this.#response.length;
      const edge = Math.min(1, (i + 0.5) / rise, (length - i - 0.5) / fall);
      time[i] = this.#response[n] * (0.5 - 0.5 * Math.cos(Math.PI * edge));
    }
    const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
    this.#fft.forward(time, re, im);
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
