import { kernelsBase64 } from './generated/kernels.ts';

/**
 * The compiled inner loops (kernels/), as one instance with its own memory. Pointers are byte offsets into that
 * memory on 16-byte boundaries; counts are in elements.
 *
 * A call to `allocate` may move the memory: make views (`floats`, `doubles`, ...) anew after it, never keep them.
 */
export interface Kernels {
  readonly memory: { readonly buffer: ArrayBuffer };

  /** Zeroed room for `bytes` bytes, kept as long as the instance. */
  allocate(bytes: number): number;

  /** Lowest and highest of each cell of 64 samples (f32 each); returns the sum of squares, not finite when a sample is not. */
  scanLevels(samples: number, frames: number, lows: number, highs: number): number;

  /** K-weights two channels and adds their sums of squares to two f64 at `sums`; see kernels/k-weight.ts. */
  weighK(first: number, second: number, frames: number, filters: number, state: number, sums: number): void;

  /** Highest point of the waveform between samples; see kernels/true-peak.ts. */
  scanTruePeak(
    samples: number,
    blocks: number,
    peak: number,
    limit: number,
    tables: number,
    overs: number,
    overCount: number,
  ): number;

  /**
   * What fault detectors start from, a cell of 64 samples at a time (f32 each): highest |sample|, largest third
   * difference, sum of third differences; grid bits are or-ed into two i32 at `totals`, squares added to the f64 after
   * them; returns the sum of the samples. Reads three samples before the first. See kernels/faults.ts.
   */
  scanFaults(
    samples: number,
    frames: number,
    peaks: number,
    bends: number,
    bendSums: number,
    totals: number,
  ): number;

  /** Sums of `size` (a power of two up to 64) samples in a row to f32 at `sums`; see kernels/faults.ts. */
  sumBoxes(samples: number, frames: number, size: number, sums: number): void;

  /** Windows two real signals of `size` samples and packs them as one complex one; see kernels/fft.ts. */
  loadWindowedPair(first: number, second: number, window: number, re: number, im: number, size: number): void;

  /** Complex Fourier transform; returns 1 when the spectrum stands in the work arrays; see kernels/fft.ts. */
  transform(re: number, im: number, workRe: number, workIm: number, twiddles: number, size: number): number;

  /** Adds the power of a transformed pair to size/2+1 f64 at `power`; see kernels/fft.ts. */
  addPairPower(re: number, im: number, power: number, size: number): void;

  /** Adds `count` f64 at `power` to those at `total`, and sets them to zero. */
  drainPower(power: number, total: number, count: number): void;

  /** Sums of first^2, second^2, (first + second)^2 and (first - second)^2 into four f64; see kernels/stereo.ts. */
  addPairLevels(first: number, second: number, frames: number, sums: number): void;

  /** Auto and cross power of a transformed pair, by band and in groups of four bins; see kernels/stereo.ts. */
  addCrossPower(
    re: number,
    im: number,
    size: number,
    groups: number,
    edges: number,
    bands: number,
    sums: number,
  ): void;

  /** What became of a transformed pair: difference and side, before and after, bin by bin; see kernels/stereo.ts. */
  addPairChange(
    re: number,
    im: number,
    laterRe: number,
    laterIm: number,
    size: number,
    change: number,
    side: number,
    laterSide: number,
  ): void;

  /** Two bands of two channels: energy and peak of each cell; see kernels/band-split.ts. */
  splitBands(
    first: number,
    second: number,
    frames: number,
    cell: number,
    filters: number,
    state: number,
    cells: number,
  ): void;

  /** Low-passes and keeps every `factor`-th sample; see kernels/band-split.ts. */
  decimate(samples: number, taps: number, length: number, factor: number, count: number, out: number): void;

  /** Interleaved little-endian integers of 2, 3 or 4 bytes to planar f32; see kernels/unpack.ts. */
  unpackIntegers(
    bytes: number,
    width: number,
    channels: number,
    frames: number,
    out: number,
    room: number,
  ): void;
  /** Two channels of f32 to pairs of f64, and back; see kernels/biquads.ts. */
  joinPair(first: number, second: number, frames: number, data: number): void;
  splitPair(data: number, frames: number, first: number, second: number): void;

  /** Each pair (a, b) to ((a + b) * scale, (a - b) * scale). */
  crossPair(data: number, frames: number, scale: number): void;

  /** A row of biquads on pairs of f64, in place; see kernels/biquads.ts. */
  filterPair(data: number, frames: number, couples: number, filters: number, state: number): void;

  /** A symmetric filter of 2 * half taps, f32; see kernels/oversample.ts. */
  convolveSymmetric(samples: number, taps: number, half: number, count: number, out: number): void;

  /** Two arrays of f32 to one, taking turns, and back; `count` of each, a multiple of 4. */
  weave(even: number, odd: number, count: number, out: number): void;
  unweave(samples: number, count: number, even: number, odd: number): void;

  /** What the saturation curve adds to samples, in place; see kernels/oversample.ts. */
  bend(samples: number, count: number, drive: number, bias: number, scale: number): void;

  /** Height of the waveform between samples wherever it may pass a ceiling; see kernels/limit.ts. */
  raiseHeights(samples: number, frames: number, ceiling: number, tables: number, heights: number): void;

  /** From heights to a limiter's gains; see kernels/limit.ts. */
  followHeights(
    heights: number,
    frames: number,
    settings: number,
    state: number,
    rings: number,
    size: number,
    gains: number,
  ): void;

  /** A compressor's gain, sample by sample; see kernels/compress.ts. */
  holdLevels(squares: number, gains: number, frames: number, settings: number, state: number): void;

  /** Rounds a row (f32, in place) with triangular dither; answers the state of its noise; see kernels/dither.ts. */
  ditherRow(samples: number, frames: number, steps: number, state: number): number;

  /** out = samples * gains, f32. */
  applyGains(samples: number, gains: number, frames: number, out: number): void;

  /** Two channels (f64), each output frame (f32) from its own place and with its own filter; see kernels/resample.ts. */
  convolveRows(
    first: number,
    second: number,
    rows: number,
    taps: number,
    places: number,
    count: number,
    outFirst: number,
    outSecond: number,
  ): void;

  /** The same with filters between the rows; see kernels/resample.ts. */
  convolveBetweenRows(
    first: number,
    second: number,
    rows: number,
    taps: number,
    places: number,
    weights: number,
    count: number,
    outFirst: number,
    outSecond: number,
  ): void;

  /** Adds frames (interleaved pairs of f32) to others at a gain that moves by `step` a frame; see kernels/desk.ts. */
  addGained(source: number, count: number, gain: number, step: number, out: number): void;

  /** Adds frames to others, each with a weight of its own; see kernels/desk.ts. */
  addFaded(source: number, weights: number, count: number, out: number): void;

  /** A symmetric filter over frames, without delay; see kernels/desk.ts. */
  filterMirrored(source: number, taps: number, half: number, count: number, out: number): void;

  /** Frames to two channels through a moving 2x2 matrix; see kernels/desk.ts. */
  turnFrames(frames: number, count: number, matrix: number, left: number, right: number): void;

  /** Two channels through three biquads in a row; returns their sum of squares. See kernels/desk.ts. */
  weighLevel(left: number, right: number, count: number, filters: number, state: number): number;
}

/** Frames in a cell of `scanLevels`. The same in kernels/levels.ts. */
export const levelCellFrames = 64;

/** The part of WebAssembly used here, declared because the engine is compiled without the types of a browser. */
interface WebAssemblyHost {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports: object) => { readonly exports: unknown };
}

const host = (globalThis as unknown as { readonly WebAssembly: WebAssemblyHost }).WebAssembly;

/** Compiled on first use and never changed; instances share only its code. */
let compiled: object | null = null;

/** A fresh instance with its own memory. */
export function instantiateKernels(): Kernels {
  compiled ??= new host.Module(decodeBase64(kernelsBase64));
  return new host.Instance(compiled, {}).exports as Kernels;
}

/** `length` 32-bit floats at `pointer`. */
export function floats(kernels: Kernels, pointer: number, length: number): Float32Array {
  return new Float32Array(kernels.memory.buffer, pointer, length);
}

/** `length` 64-bit floats at `pointer`. */
export function doubles(kernels: Kernels, pointer: number, length: number): Float64Array {
  return new Float64Array(kernels.memory.buffer, pointer, length);
}

/** `length` bytes at `pointer`. */
export function octets(kernels: Kernels, pointer: number, length: number): Uint8Array {
  return new Uint8Array(kernels.memory.buffer, pointer, length);
}

/** `length` 32-bit integers at `pointer`. */
export function integers(kernels: Kernels, pointer: number, length: number): Int32Array {
  return new Int32Array(kernels.memory.buffer, pointer, length);
}

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

/** By hand, because an AudioWorklet has neither atob nor Buffer. */
function decodeBase64(text: string): Uint8Array {
  const digits = text.replace(/=+$/, '');
  const bytes = new Uint8Array(Math.floor((digits.length * 3) / 4));
  let bits = 0;
  let pending = 0;
  let at = 0;
  for (const digit of digits) {
    pending = ((pending << 6) | alphabet.indexOf(digit)) & 0xffff;
    bits += 6;
    if (bits >= 8) {
      bits -= 8;
      bytes[at++] = (pending >> bits) & 0xff;
    }
  }
  return bytes;
}
