import { frameCount, type Pcm } from '../audio/pcm.ts';

/** Cuts a sound that comes in blocks of any size into stretches of one length, each in arrays of its own. */
export class Stretches {
  readonly #length: number;
  readonly #channels: number;
  #stretch: Float32Array[];
  #filled = 0;

  constructor(length: number, channels: number) {
    this.#length = length;
    this.#channels = channels;
    this.#stretch = this.#empty();
  }

  /** Those that this block fills. */
  push(block: Pcm): Float32Array[][] {
    const whole: Float32Array[][] = [];
    const frames = frameCount(block);
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, this.#length - this.#filled);
      block.channels.forEach((samples, c) => {
        this.#stretch[c].set(samples.subarray(at, at + count), this.#filled);
      });
      at += count;
      this.#filled += count;
      if (this.#filled < this.#length) continue;
      whole.push(this.#stretch);
      this.#stretch = this.#empty();
      this.#filled = 0;
    }
    return whole;
  }

  /** What has not filled one. */
  rest(): Float32Array[] {
    return this.#stretch.map((samples) => samples.subarray(0, this.#filled));
  }

  #empty(): Float32Array[] {
    return Array.from({ length: this.#channels }, () => new Float32Array(this.#length));
  }
}

/** Two sounds of one length, cut alike, in step; either may run ahead of the other. */
export class StretchPairs {
  readonly #take: (before: readonly Float32Array[], after: readonly Float32Array[]) => void;
  readonly #sides: readonly [Stretches, Stretches];
  readonly #waiting: readonly [Float32Array[][], Float32Array[][]] = [[], []];

  /** @param take told each pair, in order; the last one may be shorter */
  constructor(
    length: number,
    channels: number,
    take: (before: readonly Float32Array[], after: readonly Float32Array[]) => void,
  ) {
    this.#take = take;
    this.#sides = [new Stretches(length, channels), new Stretches(length, channels)];
  }

  pushBefore(block: Pcm): void {
    this.#push(0, block);
  }

  pushAfter(block: Pcm): void {
    this.#push(1, block);
  }

  /** Ends both; call once. RangeError when they are not of one length. */
  finish(): void {
    const [before, after] = this.#sides.map((side) => side.rest());
    const waiting = this.#waiting[0].length + this.#waiting[1].length;
    if (before[0].length !== after[0].length || waiting > 0)
      throw new RangeError('two sounds in step are not of one length');
    if (before[0].length > 0) this.#take(before, after);
  }

  #push(side: 0 | 1, block: Pcm): void {
    this.#waiting[side].push(...this.#sides[side].push(block));
    while (this.#waiting[0].length > 0 && this.#waiting[1].length > 0)
      this.#take(this.#waiting[0].shift() as Float32Array[], this.#waiting[1].shift() as Float32Array[]);
  }
}
