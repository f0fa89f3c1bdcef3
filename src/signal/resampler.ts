import { doubles, floats, instantiateKernels, integers, type Kernels } from './kernels.ts';
import { type Clock, conversionClock, divisor } from './resampler-clock.ts';
import { conversionFilter } from './resampler-filters.ts';

/** How a sound is to be brought onto another clock. */
export interface ResamplerOptions {
  /** Rate of the input, Hz, a whole number. */
  readonly from: number;
  /** Rate of the output, Hz, a whole number. */
  readonly to: number;
  readonly channels: number;
  /** Where output frame 0 lies in the input, in its frames: fractional, before its beginning or after its end. 0 when left out. */
  readonly start?: number;
  /** How much faster than the two rates say the input is walked through: 1e-6 is a part per million. 0 when left out. */
  readonly drift?: number;
  /** Output frames; as many as lie before the input's end when left out. */
  readonly frames?: number;
}

/** A start this close to a frame is on it: seconds times a rate do not come out whole. (It would be heard at -150 dB.) */
const onFrame = 1e-8;
/** Input frames taken at a time. */
const strideFrames = 4096;

/**
 * Converts a sound's rate, and lays it on another timeline, as it streams by. Polyphase windowed sinc in double precision:
 * flat within 0.001 dB up to 0.9 of half the lower rate, everything from half the lower rate on 150 dB down, no delay, exactly as many
 * frames as asked for. What comes out does not depend on how the input was cut into blocks. Where the input has no
 * samples there is silence. At equal rates, without drift and from a whole frame on, samples come through bit by bit.
 */
export class Resampler {
  readonly #options: Required<Omit<ResamplerOptions, 'frames'>>;
  readonly #convert: Converter;
  /** Output frames wanted; null: to the input's end. */
  readonly #wanted: number | null;
  #taken = 0;

  /** Throws RangeError for rates that are no positive whole numbers, no channels, or a start or drift that is no number. */
  constructor({ start = 0, drift = 0, frames, ...options }: ResamplerOptions) {
    const { from, to, channels } = options;
    if (![from, to, channels].every((value) => Number.isSafeInteger(value) && value > 0))
      throw new RangeError('a Resampler needs whole rates and at least one channel');
    if (!Number.isFinite(start) || !(Math.abs(drift) < 0.5))
      throw new RangeError('a Resampler needs a finite start and a small drift');
    const near = Math.round(start);
    this.#options = { ...options, start: Math.abs(start - near) < onFrame ? near : start, drift };
    this.#wanted = frames ?? null;
    this.#convert =
      from === to && drift === 0 && Number.isInteger(this.#options.start)
        ? new Mover(channels, this.#options.start)
        : new Polyphase(this.#options);
  }

  /** Takes the next block, one array a channel; returns what can be said so far, one array a channel. */
  push(block: readonly Float32Array[]): Float32Array[] {
    if (block.length !== this.#options.channels) throw new RangeError('the block has other channels');
    this.#taken += block[0].length;
    return this.#convert.take(block, this.#wanted ?? Number.POSITIVE_INFINITY);
  }

  /** The rest, after the last block. */
  finish(): Float32Array[] {
    return this.#convert.end(this.#wanted ?? this.#framesBeforeEnd());
  }

  #framesBeforeEnd(): number {
    const { from, to, start, drift } = this.#options;
    if (start === 0 && drift === 0) {
      const common = divisor(from, to);
      return Math.ceil((this.#taken * (to / common)) / (from / common));
    }
    return Math.max(0, Math.ceil((this.#taken - start) / ((from / to) * (1 + drift)) - 1e-9));
  }
}

interface Converter {
  /** Takes a block; returns what is ready of output frames below `wanted`. */
  take(block: readonly Float32Array[], wanted: number): Float32Array[];
  /** Returns the rest of output frames below `wanted`. */
  end(wanted: number): Float32Array[];
}

/** Moves by whole frames, without touching a sample. */
class Mover implements Converter {
  readonly #channels: number;
  /** Input frames still to be dropped. */
  #drop: number;
  /** Silence still to be put before. */
  #silence: number;
  #made = 0;

  constructor(channels: number, start: number) {
    this.#channels = channels;
    this.#drop = Math.max(0, start);
    this.#silence = Math.max(0, -start);
  }

  take(block: readonly Float32Array[], wanted: number): Float32Array[] {
    const dropped = Math.min(this.#drop, block[0].length);
    this.#drop -= dropped;
    const room = wanted - this.#made;
    const silent = Math.min(this.#silence, room);
    const kept = Math.min(block[0].length - dropped, room - silent);
    this.#silence -= silent;
    this.#made += silent + kept;
    return block.map((samples) => {
      const output = new Float32Array(silent + kept);
      output.set(samples.subarray(dropped, dropped + kept), silent);
      return output;
    });
  }

  end(wanted: number): Float32Array[] {
    const rest = Math.max(0, wanted - this.#made);
    this.#made += rest;
    return Array.from({ length: this.#channels }, () => new Float32Array(rest));
  }
}

/** Two channels at a time in the kernel's memory; the history slides along. */
class Polyphase implements Converter {
  readonly #kernels: Kernels = instantiateKernels();
  readonly #clock: Clock;
  readonly #channels: number;
  readonly #taps: number;
  readonly #history: readonly number[];
  readonly #room: number;
  readonly #rows: number;
  readonly #places: number;
  readonly #weights: number;
  readonly #out: readonly [number, number];
  readonly #capacity: number;
  /** Index in the input of the first sample in the history, and how many there are. */
  #from: number;
  #held = 0;
  /** Index in the input of the next sample to come. */
  #next = 0;
  #made = 0;

  constructor({ from, to, channels, start, drift }: Required<Omit<ResamplerOptions, 'frames'>>) {
    const filter = conversionFilter(from, to);
    this.#taps = filter.taps;
    this.#channels = channels;
    this.#clock = conversionClock(from, to, start, drift, filter);
    this.#room = this.#taps + 2 * strideFrames;
    this.#capacity = Math.ceil((strideFrames * 1.5 * to) / from) + 4;
    const allocate = (bytes: number) => this.#kernels.allocate(bytes);
    this.#history = Array.from({ length: channels }, () => allocate(8 * this.#room));
    this.#rows = allocate(8 * this.#clock.rows.length);
    this.#places = allocate(8 * this.#capacity);
    this.#weights = allocate(this.#clock.between ? 32 * this.#capacity : 0);
    this.#out = [allocate(4 * this.#capacity), allocate(4 * this.#capacity)];
    doubles(this.#kernels, this.#rows, this.#clock.rows.length).set(this.#clock.rows);
    this.#from = this.#firstOf(0);
    // What lies before the input is silence; it enters like samples.
    this.#next = Math.min(0, this.#from);
  }

  take(block: readonly Float32Array[], wanted: number): Float32Array[] {
    const pieces: Float32Array[][] = [];
    if (this.#next < 0) this.#silence(-this.#next, wanted, pieces);
    const frames = block[0].length;
    for (let at = 0; at < frames && this.#made < wanted; at += strideFrames)
      this.#stride(
        block.map((samples) => samples.subarray(at, at + strideFrames)),
        Math.min(strideFrames, frames - at),
        wanted,
        pieces,
      );
    return join(pieces, this.#channels);
  }

  end(wanted: number): Float32Array[] {
    const pieces: Float32Array[][] = [];
    if (this.#next < 0) this.#silence(-this.#next, wanted, pieces);
    while (this.#made < wanted) this.#silence(strideFrames, wanted, pieces);
    return join(pieces, this.#channels);
  }

  #silence(frames: number, wanted: number, pieces: Float32Array[][]): void {
    for (let left = frames; left > 0; left -= strideFrames)
      this.#stride(null, Math.min(strideFrames, left), wanted, pieces);
  }

  /** Index in the input of the first sample under the filter of output frame `n`. */
  #firstOf(n: number): number {
    return this.#clock.sampleBefore(n) - this.#taps / 2 + 1;
  }

  /** @param samples null for silence */
  #stride(
    samples: readonly Float32Array[] | null,
    frames: number,
    wanted: number,
    pieces: Float32Array[][],
  ): void {
    // Before the first filter nothing is kept.
    const skip = Math.min(frames, Math.max(0, this.#from + this.#held - this.#next));
    this.#next += frames;
    const kept = frames - skip;
    for (const [c, pointer] of this.#history.entries()) {
      const own = doubles(this.#kernels, pointer, this.#room);
      if (samples) own.set(samples[c].subarray(skip, frames), this.#held);
      else own.fill(0, this.#held, this.#held + kept);
    }
    this.#held += kept;
    const count = this.#locate(wanted);
    if (count > 0) pieces.push(this.#run(count));
    this.#made += count;
    this.#slide();
  }

  /** Writes places of the output frames that can be made now; returns how many. */
  #locate(wanted: number): number {
    const places = integers(this.#kernels, this.#places, 2 * this.#capacity);
    const weights = doubles(this.#kernels, this.#weights, this.#clock.between ? 4 * this.#capacity : 0);
    const most = Math.min(this.#capacity, wanted - this.#made);
    let count = 0;
    for (; count < most; count++) {
      const place = this.#firstOf(this.#made + count) - this.#from;
      if (place + this.#taps > this.#held) break;
      places[2 * count] = place;
      this.#clock.locate(this.#made + count, count, places, weights);
    }
    return count;
  }

  #run(count: number): Float32Array[] {
    const { between } = this.#clock;
    const output: Float32Array[] = [];
    for (let c = 0; c < this.#channels; c += 2) {
      const first = this.#history[c];
      const second = this.#history[c + 1] ?? first;
      const [left, right] = this.#out;
      if (between)
        this.#kernels.convolveBetweenRows(
          first,
          second,
          this.#rows,
          this.#taps,
          this.#places,
          this.#weights,
          count,
          left,
          right,
        );
      else
        this.#kernels.convolveRows(first, second, this.#rows, this.#taps, this.#places, count, left, right);
      output.push(floats(this.#kernels, left, count).slice());
      if (c + 1 < this.#channels) output.push(floats(this.#kernels, right, count).slice());
    }
    return output;
  }

  /** Lets go of what no later frame needs. */
  #slide(): void {
    const passed = this.#firstOf(this.#made) - this.#from;
    const gone = Math.min(this.#held, passed);
    if (gone > 0)
      for (const pointer of this.#history)
        doubles(this.#kernels, pointer, this.#room).copyWithin(0, gone, this.#held);
    this.#held -= gone;
    this.#from += passed;
  }
}

function join(pieces: readonly Float32Array[][], channels: number): Float32Array[] {
  return Array.from({ length: channels }, (_, c) => {
    const output = new Float32Array(pieces.reduce((sum, piece) => sum + piece[c].length, 0));
    let at = 0;
    for (const piece of pieces) {
      output.set(piece[c], at);
      at += piece[c].length;
    }
    return output;
  });
}
