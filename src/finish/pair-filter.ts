import { passAll } from '../signal/butterworth.ts';
import type { Biquad } from '../signal/k-weighting.ts';
import { doubles, floats, instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { mostFrames } from './part.ts';

/** One biquad for each of two lanes: left and right, or mid and side. */
export interface PairSection {
  readonly first: Biquad;
  readonly second: Biquad;
}

const passBoth: PairSection = { first: passAll, second: passAll };

/** The same filter on both lanes. */
export function onBoth(filter: Biquad): PairSection {
  return { first: filter, second: filter };
}

/**
 * Two channels in the memory of a kernel instance, as pairs of doubles, between `load` and `store`. A single channel fills
 * both lanes. Rows of filters made with the same bench work on what is loaded.
 */
export class PairBench {
  readonly kernels: Kernels = instantiateKernels();
  readonly #ins: readonly number[];
  readonly #data: number;
  #views: readonly Float32Array[] | null = null;
  #pairs: Float64Array | null = null;

  constructor() {
    this.#ins = [0, 1].map(() => this.kernels.allocate(mostFrames * 4));
    this.#data = this.kernels.allocate(mostFrames * 16);
  }

  /** Where the pairs lie. */
  get data(): number {
    return this.#data;
  }

  /** The pairs, first and second taking turns; good until memory is allocated. */
  pairs(): Float64Array {
    if (this.#pairs?.buffer !== this.kernels.memory.buffer)
      this.#pairs = doubles(this.kernels, this.#data, 2 * mostFrames);
    return this.#pairs as Float64Array;
  }

  /** Room for other pairs. */
  allocatePairs(): number {
    return this.kernels.allocate(mostFrames * 16);
  }

  load(block: readonly Float32Array[]): void {
    const views = this.#rooms();
    block.forEach((samples, c) => {
      views[c].set(samples);
    });
    this.kernels.joinPair(this.#ins[0], this.#ins[block.length - 1], block[0].length, this.#data);
  }

  store(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    this.kernels.splitPair(this.#data, frames, this.#ins[0], this.#ins[1]);
    const views = this.#rooms();
    block.forEach((samples, c) => {
      samples.set(views[c].subarray(0, frames));
    });
  }

  toMidSide(frames: number): void {
    this.kernels.crossPair(this.#data, frames, 0.5);
  }

  toLeftRight(frames: number): void {
    this.kernels.crossPair(this.#data, frames, 1);
  }

  /** Views stay good only until memory is allocated. */
  #rooms(): readonly Float32Array[] {
    if (this.#views?.[0].buffer !== this.kernels.memory.buffer)
      this.#views = this.#ins.map((pointer) => floats(this.kernels, pointer, mostFrames));
    return this.#views as readonly Float32Array[];
  }
}

/** A row of biquads on pairs of doubles, with its state. */
export class PairFilter {
  readonly #kernels: Kernels;
  readonly #couples: number;
  readonly #filters: number;
  readonly #state: number;

  constructor(bench: PairBench, sections: readonly PairSection[]) {
    const kernels = bench.kernels;
    this.#kernels = kernels;
    this.#couples = Math.ceil(sections.length / 2);
    this.#filters = kernels.allocate(160 * this.#couples);
    this.#state = kernels.allocate(64 * this.#couples);
    const padded = sections.length % 2 === 1 ? [...sections, passBoth] : sections;
    const numbers = padded.flatMap(({ first, second }) =>
      (['b0', 'b1', 'b2', 'a1', 'a2'] as const).flatMap((name) => [first[name], second[name]]),
    );
    doubles(kernels, this.#filters, numbers.length).set(numbers);
  }

  /** @param data where the pairs lie */
  process(data: number, frames: number): void {
    if (this.#couples > 0) this.#kernels.filterPair(data, frames, this.#couples, this.#filters, this.#state);
  }

  reset(): void {
    doubles(this.#kernels, this.#state, 8 * this.#couples).fill(0);
  }
}
