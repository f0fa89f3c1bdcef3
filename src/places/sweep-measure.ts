import { pcmAtRate } from '../audio/at-rate.ts';
import type { Pcm } from '../audio/pcm.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import { RealFft } from '../signal/fft.ts';
import type { Curve } from './place.ts';
import { curveDb } from './place-curve.ts';
import type { SweepPlan } from './sweep.ts';
import { type BandReading, Deconvolver, meanWithin, Transform } from './sweep-deconvolver.ts';
import { evenGain } from './sweep-pilots.ts';

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
