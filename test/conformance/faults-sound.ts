import {
  type FaultResult,
  joinFaults,
  SampleFaultMeter,
  SpectrumFaultMeter,
} from '../../src/measure/faults/fault-meter.ts';
import { SoundFeed } from '../../src/measure/sound-feed.ts';
import { instantiateKernels } from '../../src/signal/kernels.ts';
import { noise } from './lossy-sound.ts';

/** Number of seeded cases a detector is tried on, faulty and clean. */
export const cases = 200;
export const seeds = Array.from({ length: cases }, (_, i) => i + 1);

/** Numbers in 0..1, the same for the same seed. */
export function chance(seed: number): () => number {
  const next = noise(Math.imul(seed, 2_654_435_761) | 1);
  // The first numbers of neighbouring seeds are alike.
  for (let i = 0; i < 8; i++) next();
  return () => 0.5 * (next() + 1);
}

export function between(next: () => number, low: number, high: number): number {
  return low + (high - low) * next();
}

/** Everything the fault detectors say of a sound, straight from the meter. */
export function faultsOf(channels: readonly Float32Array[], sampleRate: number): FaultResult {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, { sampleRate, channels: channels.length });
  const samples = new SampleFaultMeter(kernels, feed, sampleRate);
  const spectra = new SpectrumFaultMeter(kernels, feed, sampleRate);
  const take = (frames: number) => {
    samples.take(frames);
    spectra.take(frames);
  };
  feed.push({ sampleRate, channels }, take);
  feed.finish(take);
  return joinFaults(samples.finish(), spectra.finish());
}

/** Rounded to a grid of so many bits, with triangular dither or without. */
export function quantised(samples: Float32Array, bits: number, dither: (() => number) | null): Float32Array {
  const steps = 2 ** (bits - 1);
  return samples.map((x) => {
    const d = dither ? dither() - dither() : 0;
    return Math.max(-steps, Math.min(steps - 1, Math.round(x * steps + d))) / steps;
  });
}

export const styles = ['band', 'plucks', 'synth', 'limited', 'sparse'] as const;

type Voice = (out: Float32Array, at: number, gain: number) => void;

/**
 * A few seconds of clean music for one channel, of a style by seed: a band (drums, bass, chords), plucked strings,
 * naive sawtooth and pulse synths (their edges are no clicks), the band driven into a limiter and clipped, and single
 * drums and notes with rests of digital silence. Ends die away.
 */
export function music(
  seed: number,
  seconds: number,
  rate: number,
  style = styles[seed % styles.length],
): Float32Array {
  const next = chance(seed);
  const frames = Math.round(seconds * rate);
  const out = new Float32Array(frames);
  const beat = between(next, 0.36, 0.6);
  const root = 110 * 2 ** (Math.floor(between(next, -5, 7)) / 12);
  const note = () => root * 2 ** ([0, 3, 5, 7, 10, 12][Math.floor(6 * next())] / 12);
  const loud = between(next, 0.5, 1);
  for (let t = style === 'sparse' ? 0.1 : 0.02, step = 0; t < seconds - 0.4; t += beat / 2, step++) {
    const at = Math.round(t * rate);
    if (style === 'band' || style === 'limited') {
      if (step % 4 === 0) kick(rate, next)(out, at, 0.6 * loud);
      if (step % 4 === 2) snare(rate, next)(out, at, 0.4 * loud);
      hat(rate, next)(out, at, 0.15 * loud);
      if (step % 2 === 0) saw(note() / 2, beat, rate, 700)(out, at, 0.3 * loud);
      if (step % 8 === 0)
        for (let i = 0; i < 3; i++) saw(note() * 2, 4 * beat, rate, 2500)(out, at, 0.12 * loud);
    } else if (style === 'plucks') {
      pluck(note() * (1 + (step % 2)), rate, next)(out, at, 0.4 * loud);
    } else if (style === 'synth') {
      saw(note() / 2, beat / 2, rate, rate)(out, at, 0.3 * loud);
      if (step % 2) pulse(note() * 2, beat / 2, rate)(out, at, 0.15 * loud);
    } else if (next() < 0.35) {
      const play = [kick(rate, next), snare(rate, next), hat(rate, next), pluck(note(), rate, next)];
      play[Math.floor(4 * next())](out, at, 0.5 * loud);
    }
  }
  if (style === 'limited')
    for (let n = 0; n < frames; n++) out[n] = Math.max(-0.9, Math.min(0.9, 1.1 * Math.tanh(3 * out[n])));
  for (let n = Math.max(0, frames - Math.round(0.3 * rate)); n < frames; n++)
    out[n] *= (1 - Math.cos((Math.PI * (frames - 1 - n)) / (0.3 * rate))) / 2;
  return out;
}

function add(out: Float32Array, at: number, frames: number, sample: (n: number) => number): void {
  const end = Math.min(out.length - at, Math.round(frames));
  const fade = 0.4 * frames;
  for (let n = 0; n < end; n++) out[at + n] += sample(n) * Math.min(1, (frames - n) / fade);
}

/** Drums are made once and struck often, each in a few varieties. */
const varieties = 6;
const drums = new Map<string, Float32Array>();

function drum(name: string, rate: number, seconds: number, next: () => number, make: DrumMaker): Voice {
  const variety = Math.floor(varieties * next());
  const key = `${name} ${rate} ${variety}`;
  let sound = drums.get(key);
  if (!sound) {
    sound = new Float32Array(Math.round(seconds * rate));
    const own = chance(variety + 100);
    add(
      sound,
      0,
      sound.length,
      make(own, (n) => n / rate),
    );
    drums.set(key, sound);
  }
  const made = sound;
  return (out, at, gain) => {
    const end = Math.min(out.length - at, made.length);
    for (let n = 0; n < end; n++) out[at + n] += gain * made[n];
  };
}

type DrumMaker = (next: () => number, time: (n: number) => number) => (n: number) => number;

function kick(rate: number, next: () => number): Voice {
  return drum('kick', rate, 0.5, next, (own, time) => {
    const deep = between(own, 42, 65);
    return (n) => {
      const t = time(n);
      const body = Math.sin(2 * Math.PI * (deep * t + 3 * (1 - Math.exp(-t * 35)))) * Math.exp(-t * 9);
      return body + 0.2 * (own() - 0.5) * Math.exp(-t * 250);
    };
  });
}

function snare(rate: number, next: () => number): Voice {
  return drum('snare', rate, 0.3, next, (own, time) => (n) => {
    const t = time(n);
    return Math.exp(-t * 22) * (Math.sin(2 * Math.PI * 190 * t) * 0.6 + 1.4 * (own() - 0.5));
  });
}

function hat(rate: number, next: () => number): Voice {
  return drum('hat', rate, 0.15, next, (own, time) => {
    const decay = between(own, 25, 90);
    let last = 0;
    return (n) => {
      const x = own() - 0.5;
      const high = x - last;
      last = x;
      return 2 * high * Math.exp(-time(n) * decay);
    };
  });
}

/** A naive sawtooth through a one-pole low-pass, with an attack of 3 ms and a release of 15 ms. */
function saw(hz: number, seconds: number, rate: number, cutoff: number): Voice {
  const share = 1 - Math.exp((-2 * Math.PI * cutoff) / rate);
  let state = 0;
  return (out, at, gain) =>
    add(out, at, seconds * rate, (n) => {
      const t = n / rate;
      state += share * (2 * ((t * hz) % 1) - 1 - state);
      return gain * state * Math.min(1, t / 0.003, Math.max(0, (seconds - t) / 0.015));
    });
}

function pulse(hz: number, seconds: number, rate: number): Voice {
  return (out, at, gain) =>
    add(out, at, seconds * rate, (n) => {
      const t = n / rate;
      return (
        gain * ((t * hz) % 1 < 0.3 ? 1 : -0.4) * Math.min(1, t / 0.003, Math.max(0, (seconds - t) / 0.015))
      );
    });
}

/** Karplus-Strong. */
function pluck(hz: number, rate: number, next: () => number): Voice {
  const period = Math.max(2, Math.round(rate / hz));
  const noise = Float32Array.from({ length: period }, () => next() - 0.5);
  const mean = noise.reduce((sum, x) => sum + x, 0) / period;
  const string = noise.map((x) => x - mean);
  let at0 = 0;
  let last = 0;
  return (out, at, gain) =>
    add(out, at, rate * 1.5, (n) => {
      const x = string[at0];
      string[at0] = 0.996 * 0.5 * (x + last);
      last = x;
      at0 = (at0 + 1) % period;
      return gain * 2 * x * Math.min(1, n / (0.0005 * rate), Math.max(0, 1.5 - n / rate) / 0.05);
    });
}

/** How many of the cases a detector answers wrongly. */
export function countOf(isWrong: (seed: number) => boolean): number {
  return seeds.filter(isWrong).length;
}
