import { RealFft } from '../signal/fft.ts';
import { kaiser } from '../signal/interpolation.ts';
import type { Engine } from './successor.ts';

/** Frames that are transformed at a time. */
const partFrames = 1024;
/** Length of the filters in time: long enough that a band at 40 Hz keeps its shape. */
const filterSeconds = 0.17;
/** Kaiser's parameter of the window over the filter: 80 dB. */
const windowBeta = 8;

/** Zero-phase gain at `hertz`, amplitude ratio. */
export type Gain = (hertz: number) => number;

/** Gains from inputs to outputs: `gains[output][input]`; null where nothing goes across. */
export type GainMatrix = readonly (readonly (Gain | null)[])[];

/** Taps of the filters at a rate. */
export function linearPhaseTaps(sampleRate: number): number {
  return 2 ** Math.round(Math.log2(filterSeconds * sampleRate));
}

/** Samples by which a linear-phase filter is late: half its length, and the block it waits for. */
export function linearPhaseLatency(sampleRate: number): number {
  return linearPhaseTaps(sampleRate) / 2 + partFrames;
}

/**
 * Filters of any magnitude and no phase shift beyond a delay: the magnitude sampled, transformed back, windowed; then
 * convolved in blocks by overlap-save with the filter cut into equal parts (textbook), so that the work is spread evenly.
 */
export class LinearPhase implements Engine {
  readonly #fft = new RealFft(2 * partFrames);
  readonly #parts: number;
  /** [output][input][part]: spectra, real and imaginary parts one after the other. */
  readonly #filters: readonly (readonly (readonly Float64Array[] | null)[])[];
  /** [input][part]: spectra of what came in, a ring. */
  readonly #past: readonly (readonly Float64Array[])[];
  readonly #input: readonly Float64Array[];
  readonly #output: readonly Float64Array[];
  readonly #time = new Float64Array(2 * partFrames);
  readonly #re = new Float64Array(partFrames + 1);
  readonly #im = new Float64Array(partFrames + 1);
  #newest = 0;
  #filled = 0;

  constructor(gains: GainMatrix, sampleRate: number) {
    const taps = linearPhaseTaps(sampleRate);
    this.#parts = taps / partFrames;
    const channels = gains.length;
    this.#filters = gains.map((row) =>
      row.map((gain) => gain && this.#spectra(firTaps(gain, taps, sampleRate))),
    );
    this.#past = Array.from({ length: channels }, () =>
      Array.from({ length: this.#parts }, () => new Float64Array(2 * (partFrames + 1))),
    );
    this.#input = Array.from({ length: channels }, () => new Float64Array(2 * partFrames));
    this.#output = Array.from({ length: channels }, () => new Float64Array(partFrames));
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, partFrames - this.#filled);
      block.forEach((samples, c) => {
        const input = this.#input[c];
        const output = this.#output[c];
        for (let i = 0; i < count; i++) {
          input[partFrames + this.#filled + i] = samples[at + i];
          samples[at + i] = output[this.#filled + i];
        }
      });
      this.#filled += count;
      at += count;
      if (this.#filled === partFrames) this.#turn();
    }
  }

  reset(): void {
    for (const room of [...this.#past.flat(), ...this.#input, ...this.#output]) room.fill(0);
    this.#filled = 0;
    this.#newest = 0;
  }

  /** A block is full: its spectrum in, the next output out. */
  #turn(): void {
    const bins = partFrames + 1;
    this.#newest = (this.#newest + this.#parts - 1) % this.#parts;
    this.#input.forEach((input, c) => {
      this.#fft.forward(input, this.#re, this.#im);
      const slot = this.#past[c][this.#newest];
      slot.set(this.#re);
      slot.set(this.#im, bins);
      input.copyWithin(0, partFrames);
    });
    this.#output.forEach((output, o) => {
      this.#re.fill(0);
      this.#im.fill(0);
      this.#filters[o].forEach((filter, c) => {
        if (!filter) return;
        for (let part = 0; part < this.#parts; part++)
          addProduct(this.#past[c][(this.#newest + part) % this.#parts], filter[part], this.#re, this.#im);
      });
      this.#fft.inverse(this.#re, this.#im, this.#time);
      output.set(this.#time.subarray(partFrames));
    });
    this.#filled = 0;
  }

  #spectra(taps: Float64Array): Float64Array[] {
    return Array.from({ length: this.#parts }, (_, part) => {
      const spectrum = new Float64Array(2 * (partFrames + 1));
      const time = new Float64Array(2 * partFrames);
      time.set(taps.subarray(part * partFrames, (part + 1) * partFrames));
      this.#fft.forward(time, spectrum.subarray(0, partFrames + 1), spectrum.subarray(partFrames + 1));
      return spectrum;
    });
  }
}

function addProduct(x: Float64Array, h: Float64Array, re: Float64Array, im: Float64Array): void {
  const bins = re.length;
  for (let k = 0; k < bins; k++) {
    const xr = x[k];
    const xi = x[bins + k];
    const hr = h[k];
    const hi = h[bins + k];
    re[k] += xr * hr - xi * hi;
    im[k] += xr * hi + xi * hr;
  }
}

/** A symmetric filter around tap taps/2. */
function firTaps(gain: Gain, taps: number, sampleRate: number): Float64Array {
  // Sampled four times as finely as the filter is long, so that what wraps around is small.
  const size = 4 * taps;
  const re = new Float64Array(size / 2 + 1);
  for (let k = 0; k < re.length; k++) re[k] = gain((k * sampleRate) / size);
  const time = new Float64Array(size);
  new RealFft(size).inverse(re, new Float64Array(re.length), time);
  const half = taps / 2;
  return Float64Array.from(
    { length: taps },
    (_, n) => time[(n - half + size) % size] * kaiser((n - half) / half, windowBeta),
  );
}
