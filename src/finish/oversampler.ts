import { kaiser, sinc } from '../signal/interpolation.ts';
import { floats, type Kernels } from '../signal/kernels.ts';
import { mostFrames } from './part.ts';

/**
 * One half-band filter: between a rate and twice that rate. Its middle tap is 1/2 and every second other tap 0, so that the
 * samples themselves pass and only the ones between are computed.
 */
interface HalfBand {
  /** Taps on each side of the middle that are not 0, from the outermost inwards. */
  readonly taps: Float32Array;
}

/** Windowed sinc with `half` taps on each side (Kaiser); twice the gain, for the samples between. */
function halfBand(half: number): HalfBand {
  const taps = Float64Array.from({ length: half }, (_, k) => {
    const distance = half - 0.5 - k;
    return sinc(distance) * kaiser(distance / half, beta);
  });
  const sum = 2 * taps.reduce((total, tap) => total + tap, 0);
  return { taps: Float32Array.from(taps, (tap) => tap / sum) };
}

/** Kaiser's parameter of both filters: 115 dB. */
const beta = 11.5;
/** What must come through flat, Hz, and what share of the rate at the most. */
const flatToHertz = 20000;
const flatToShare = { lowRates: 20000 / 44100, highRates: 20000 / 48000 } as const;

/** Up to here what folds back lies 100 dB down, Hz: 20 kHz, or 0.45 of a rate too low for that. */
export function cleanToHertz(sampleRate: number): number {
  return Math.min(flatToHertz, sampleRate * flatToShare.lowRates);
}

/**
 * Taps on each side of the filter between the sound's rate and twice that: flat to 20 kHz and 115 dB down where that is
 * mirrored about half the rate (24.1 kHz at 44.1 kHz); above 48 kHz the same share of the rate as there.
 */
function steepHalf(sampleRate: number): number {
  const flatTo = Math.max(cleanToHertz(sampleRate) / sampleRate, flatToShare.highRates);
  return Math.ceil(4.1 / (1 - 2 * flatTo));
}
/** The second filter, a rate higher, has far more room. */
const easyHalf = 12;

/** Samples by which what went up and came down again is late: half a filter each way and stage. */
export function oversamplingLatency(sampleRate: number): number {
  return 2 * steepHalf(sampleRate) - 1 + easyHalf;
}

/** Up to four times the rate, for one channel, and down again. */
export class Oversampler {
  readonly #kernels: Kernels;
  readonly #up: readonly [Doubler, Doubler];
  readonly #down: readonly [Halver, Halver];
  readonly #four: number;

  constructor(kernels: Kernels, sampleRate: number) {
    this.#kernels = kernels;
    const filters = [halfBand(steepHalf(sampleRate)), halfBand(easyHalf)] as const;
    this.#up = [
      new Doubler(kernels, filters[0], mostFrames),
      new Doubler(kernels, filters[1], 2 * mostFrames),
    ];
    this.#down = [
      new Halver(kernels, filters[0], mostFrames),
      // One sample of the doubled rate more, so that the whole is late by whole samples.
      new Halver(kernels, filters[1], 2 * mostFrames, 1),
    ];
    this.#four = kernels.allocate(4 * (4 * mostFrames + 16));
  }

  /** Raises `frames` samples; returns where four times as many lie, to be worked on in place. */
  raise(samples: Float32Array): number {
    const frames = samples.length;
    floats(this.#kernels, this.#up[0].input, frames).set(samples);
    this.#up[0].process(frames, this.#up[1].input);
    this.#up[1].process(2 * frames, this.#four);
    return this.#four;
  }

  /** Brings down what lies there; returns where. */
  lower(frames: number): number {
    this.#down[1].process(this.#four, 2 * frames);
    this.#down[0].process(this.#down[1].output, frames);
    return this.#down[0].output;
  }

  reset(): void {
    for (const stage of [...this.#up, ...this.#down]) stage.reset();
  }
}

const rounded = (frames: number) => (frames + 3) & ~3;

class Doubler {
  readonly #kernels: Kernels;
  readonly #half: number;
  readonly #taps: number;
  readonly #history: number;
  readonly #room: number;
  readonly #between: number;

  constructor(kernels: Kernels, { taps }: HalfBand, most: number) {
    this.#kernels = kernels;
    this.#half = taps.length;
    this.#taps = kernels.allocate(4 * taps.length);
    floats(kernels, this.#taps, taps.length).set(taps);
    this.#room = 2 * taps.length - 1 + most + 8;
    this.#history = kernels.allocate(4 * this.#room);
    this.#between = kernels.allocate(4 * (most + 8));
  }

  /** Where samples to come must be put. */
  get input(): number {
    return this.#history + 4 * (2 * this.#half - 1);
  }

  process(frames: number, out: number): void {
    const kernels = this.#kernels;
    const count = rounded(frames);
    kernels.convolveSymmetric(this.#history, this.#taps, this.#half, count, this.#between);
    kernels.weave(this.#history + 4 * (this.#half - 1), this.#between, count, out);
    floats(kernels, this.#history, this.#room).copyWithin(0, frames, frames + 2 * this.#half - 1);
  }

  reset(): void {
    floats(this.#kernels, this.#history, this.#room).fill(0);
  }
}

class Halver {
  readonly output: number;
  readonly #kernels: Kernels;
  readonly #half: number;
  readonly #taps: number;
  readonly #even: number;
  readonly #odd: number;
  readonly #between: number;
  readonly #room: number;
  readonly #extra: number;

  /** @param extra samples of the lower rate by which it is later still */
  constructor(kernels: Kernels, { taps }: HalfBand, most: number, extra = 0) {
    this.#kernels = kernels;
    this.#half = taps.length;
    this.#extra = extra;
    this.#taps = kernels.allocate(4 * taps.length);
    floats(kernels, this.#taps, taps.length).set(taps.map((tap) => tap / 2));
    this.#room = 2 * taps.length - 1 + extra + most + 8;
    this.#even = kernels.allocate(4 * this.#room);
    this.#odd = kernels.allocate(4 * this.#room);
    this.#between = kernels.allocate(4 * (most + 8));
    this.output = kernels.allocate(4 * (most + 8));
  }

  /** @param frames of the lower rate, to `output` */
  process(samples: number, frames: number): void {
    const kernels = this.#kernels;
    const past = 2 * this.#half - 1 + this.#extra;
    const count = rounded(frames);
    kernels.unweave(samples, count, this.#even + 4 * past, this.#odd + 4 * past);
    kernels.convolveSymmetric(this.#odd, this.#taps, this.#half, count, this.#between);
    const even = floats(kernels, this.#even, this.#room);
    const between = floats(kernels, this.#between, frames);
    const out = floats(kernels, this.output, frames);
    const middle = this.#half;
    for (let i = 0; i < frames; i++) out[i] = 0.5 * even[i + middle] + between[i];
    even.copyWithin(0, frames, frames + past);
    floats(kernels, this.#odd, this.#room).copyWithin(0, frames, frames + past);
  }

  reset(): void {
    floats(this.#kernels, this.#even, this.#room).fill(0);
    floats(this.#kernels, this.#odd, this.#room).fill(0);
  }
}
