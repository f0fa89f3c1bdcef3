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
  const dry = signal.channels[0];
  const frames = start + dry.length + Math.round(0.2 * rate);
  const fft = new RealFft(2 ** Math.ceil(Math.log2(frames + length)));
  const driven = new Float64Array(fft.size);
  const bend = 0.05 * random();
  dry.forEach((v, n) => {
    driven[start + n] = v - bend * v * v * v * 4;
  });
  const sound = convolve(fft, driven, impulse);
  let loudest = 0;
  for (const v of sound) loudest = Math.max(loudest, Math.abs(v));
  const overNoiseDb = 12 + 35 * random();
  const noise = warm(random, frames);
  const noiseGain = rms(sound, frames) * 10 ** (-overNoiseDb / 20);
  const recorded = Float64Array.from({ length: frames }, (_, n) => sound[n] + noiseGain * noise[n]);
  const gainControl = random() < 0.6;
  if (gainControl) automaticGain(recorded, rate, random, loudest);
  const clipped = random() < 0.3;
  const top = recorded.reduce((most, v) => Math.max(most, Math.abs(v)), 0);
  const limit = clipped ? top * (0.5 + 0.4 * random()) : top;
  const gain = 0.9 / limit;
  const samples = Float32Array.from(recorded, (v) => gain * Math.max(-limit, Math.min(limit, v)));
  return {
    recording: { sampleRate: rate, channels: [samples] },
    start,
    bandsDb: trueBands(impulse, rate),
    kind: { gainControl, clipped, overNoiseDb },
  };
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
  const noise = Float64Array.from({ length: frames }, () => {
    const white = random() + random() + random() - 1.5;
    slow = 0.985 * slow + 0.17 * white;
    return slow + 0.3 * white;
  });
  const size = rms(noise, frames);
  return noise.map((v) => v / size);
}

function rms(x: Float64Array, frames: number): number {
  let sum = 0;
  for (let n = 0; n < frames; n++) sum += x[n] * x[n];
  return Math.sqrt(sum / frames);
}

function convolve(fft: RealFft, x: Float64Array, taps: Float64Array): Float64Array {
  const half = fft.size / 2 + 1;
  const [xr, xi, hr, hi] = [0, 0, 0, 0].map(() => new Float64Array(half));
  const padded = new Float64Array(fft.size);
  padded.set(taps);
  fft.forward(x, xr, xi);
  fft.forward(padded, hr, hi);
  for (let k = 0; k < half; k++) {
    const re = xr[k] * hr[k] - xi[k] * hi[k];
    xi[k] = xr[k] * hi[k] + xi[k] * hr[k];
    xr[k] = re;
  }
  const out = new Float64Array(fft.size);
  fft.inverse(xr, xi, out);
  return out;
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
