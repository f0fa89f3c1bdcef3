import type { Pcm } from '../../src/audio/pcm.ts';
import { thirdOctaves } from '../../src/measure/third-octaves.ts';
import { minimumPhaseTaps } from '../../src/places/minimum-phase.ts';
import { RealFft } from '../../src/signal/fft.ts';
import { seeded } from '../seeded-sound.ts';

export interface RoomTruth {
  readonly recording: Pcm;
  /** Frame at which the signal begins in the recording. */
  readonly start: number;
  /** True third-octave response, dB. */
  readonly bandsDb: readonly number[];
  readonly kind: { readonly gainControl: boolean; readonly clipped: boolean; readonly overNoiseDb: number };
}

/**
 * A seeded room with everything that a phone lying in it adds: a loudspeaker's response of 20 to 30 dB of relief, four
 * reflections and a tail, third-order distortion, warm noise, automatic gain of unknown speed and ratio, clipping, delay.
 */
export function virtualRoom(seed: number, signal: Pcm): RoomTruth {
  const random = seeded(1000 + seed);
  const { sampleRate: rate } = signal;
  const length = Math.round(0.35 * rate);
  const impulse = roomImpulse(random, rate, length);
  const start = Math.round((0.2 + 0.5 * random()) * rate);
  const dry = drySpectra(signal);
  const frames = start + signal.channels[0].length + Math.round(0.2 * rate);
  const sound = dry.through(impulse, 4 * 0.05 * random(), start, frames);
  let loudest = 0;
  for (const v of sound) loudest = Math.max(loudest, Math.abs(v));
  const overNoiseDb = 12 + 35 * random();
  const recorded = warm(random, frames);
  const noiseGain = rms(sound, frames) * 10 ** (-overNoiseDb / 20);
  for (let n = 0; n < frames; n++) recorded[n] = sound[n] + noiseGain * recorded[n];
  const gainControl = random() < 0.6;
  if (gainControl) automaticGain(recorded, rate, random, loudest);
  const clipped = random() < 0.3;
  let top = 0;
  for (const v of recorded) top = Math.max(top, Math.abs(v));
  const limit = clipped ? top * (0.5 + 0.4 * random()) : top;
  const gain = 0.9 / limit;
  const samples = new Float32Array(frames);
  for (let n = 0; n < frames; n++) samples[n] = gain * Math.max(-limit, Math.min(limit, recorded[n]));
  return {
    recording: { sampleRate: rate, channels: [samples] },
    start,
    bandsDb: trueBands(impulse, rate),
    kind: { gainControl, clipped, overNoiseDb },
  };
}

/** What every room makes of the same signal: its spectrum and that of its cube, transformed once. */
class DrySpectra {
  readonly #fft: RealFft;
  readonly #plain: readonly [Float64Array, Float64Array];
  readonly #cubed: readonly [Float64Array, Float64Array];
  readonly #room: readonly [Float64Array, Float64Array];
  readonly #time: Float64Array;

  constructor({ sampleRate, channels: [dry] }: Pcm) {
    this.#fft = new RealFft(2 ** Math.ceil(Math.log2(dry.length + sampleRate / 2)));
    const { size } = this.#fft;
    const pair = () => [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)] as const;
    [this.#plain, this.#cubed, this.#room] = [pair(), pair(), pair()];
    this.#time = new Float64Array(size);
    this.#time.set(dry);
    this.#fft.forward(this.#time, ...this.#plain);
    dry.forEach((v, n) => {
      this.#time[n] = v * v * v;
    });
    this.#fft.forward(this.#time, ...this.#cubed);
  }

  /** x - bend x^3 through a room, from frame `start` of `frames`. */
  through(impulse: Float64Array, bend: number, start: number, frames: number): Float64Array {
    const [re, im] = this.#room;
    this.#time.fill(0).set(impulse);
    this.#fft.forward(this.#time, re, im);
    const [[pr, pi], [cr, ci]] = [this.#plain, this.#cubed];
    for (let k = 0; k < re.length; k++) {
      const [a, b] = [pr[k] - bend * cr[k], pi[k] - bend * ci[k]];
      const [c, d] = [re[k], im[k]];
      re[k] = a * c - b * d;
      im[k] = a * d + b * c;
    }
    this.#fft.inverse(re, im, this.#time);
    const sound = new Float64Array(frames);
    sound.set(this.#time.subarray(0, Math.min(this.#time.length, frames - start)), start);
    return sound;
  }
}

const known = new WeakMap<Pcm, DrySpectra>();

function drySpectra(signal: Pcm): DrySpectra {
  const dry = known.get(signal) ?? new DrySpectra(signal);
  known.set(signal, dry);
  return dry;
}

function roomImpulse(random: () => number, rate: number, length: number): Float64Array {
  const corner = 40 + 100 * random();
  const curve = [
    { hertz: corner / 2, db: -12 - 8 * random() },
    { hertz: corner, db: -4 },
    ...Array.from({ length: 9 }, (_, i) => ({ hertz: corner * 1.9 ** (i + 1), db: 10 * (random() - 0.5) })),
    { hertz: 16500, db: -6 * random() - 3 },
  ].filter(({ hertz }, i, all) => hertz < 16600 && (i === 0 || hertz > all[i - 1].hertz));
  const direct = minimumPhaseTaps(curve, rate, 2048);
  const impulse = new Float64Array(length);
  const add = (at: number, gain: number) => {
    for (let n = 0; n < direct.length && at + n < length; n++) impulse[at + n] += gain * direct[n];
  };
  add(0, 1);
  for (let i = 0; i < 4; i++) add(Math.round((0.001 + 0.03 * random()) * rate), 0.35 * (random() - 0.5));
  const decay = 0.02 + 0.05 * random();
  for (let n = 0; n < length; n++) impulse[n] += 0.004 * (random() - 0.5) * Math.exp(-n / (decay * rate));
  return impulse;
}

/** Compresses above a level far under the loudest, with a speed of its own each way. */
function automaticGain(x: Float64Array, rate: number, random: () => number, loudest: number): void {
  const [attack, release] = [0.05 + 0.2 * random(), 0.5 + 1.5 * random()].map(
    (s) => 1 - Math.exp(-1 / (s * rate)),
  );
  const from = loudest * 0.05;
  const ratio = 0.3 + 0.4 * random();
  let level = 0;
  for (let n = 0; n < x.length; n++) {
    const size = Math.abs(x[n]);
    level += (size - level) * (size > level ? attack : release);
    if (level > from) x[n] *= (from / level) ** ratio;
  }
}

function warm(random: () => number, frames: number): Float64Array {
  let slow = 0;
  const noise = new Float64Array(frames);
  for (let n = 0; n < frames; n++) {
    const white = random() + random() + random() - 1.5;
    slow = 0.985 * slow + 0.17 * white;
    noise[n] = slow + 0.3 * white;
  }
  const size = rms(noise, frames);
  for (let n = 0; n < frames; n++) noise[n] /= size;
  return noise;
}

function rms(x: Float64Array, frames: number): number {
  let sum = 0;
  for (let n = 0; n < frames; n++) sum += x[n] * x[n];
  return Math.sqrt(sum / frames);
}

function trueBands(impulse: Float64Array, rate: number): number[] {
  const fft = new RealFft(2 ** Math.ceil(Math.log2(impulse.length)));
  const padded = new Float64Array(fft.size);
  padded.set(impulse);
  const [re, im] = [new Float64Array(fft.size / 2 + 1), new Float64Array(fft.size / 2 + 1)];
  fft.forward(padded, re, im);
  const binHz = rate / fft.size;
  return thirdOctaves(rate).map(({ lowHz, highHz }) => {
    let [sum, all] = [0, 0];
    for (let k = Math.floor(lowHz / binHz); k <= Math.ceil(highHz / binHz) && k < re.length; k++) {
      const share = Math.max(0, Math.min(highHz, (k + 0.5) * binHz) - Math.max(lowHz, (k - 0.5) * binHz));
      sum += share * (re[k] * re[k] + im[k] * im[k]);
      all += share;
    }
    return 10 * Math.log10(sum / all);
  });
}
