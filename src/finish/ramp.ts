/** Time in which a gain or another plain number reaches a new setting: short to the hand, long to the ear's clicks. */
export const rampSeconds = 0.02;

/** A number that moves to a new value in a straight line, a sample at a time. */
export class Ramp {
  readonly #frames: number;
  #value: number;
  #target: number;
  #step = 0;
  #left = 0;

  constructor(value: number, sampleRate: number, seconds = rampSeconds) {
    this.#frames = Math.max(1, Math.round(seconds * sampleRate));
    this.#value = value;
    this.#target = value;
  }

  /** Whether the value stands still. */
  get still(): boolean {
    return this.#left === 0;
  }

  /** The value now. */
  get value(): number {
    return this.#value;
  }

  moveTo(target: number): void {
    if (target === this.#target) return;
    this.#target = target;
    this.#left = this.#frames;
    this.#step = (target - this.#value) / this.#frames;
  }

  /** The value for the next sample. */
  next(): number {
    if (this.#left === 0) return this.#value;
    this.#left--;
    this.#value = this.#left === 0 ? this.#target : this.#value + this.#step;
    return this.#value;
  }

  /** At the target at once. */
  settle(): void {
    this.#value = this.#target;
    this.#left = 0;
  }
}

/** Multiplies all channels by a gain that may be moving. */
export function applyRamp(gain: Ramp, block: readonly Float32Array[]): void {
  const frames = block[0].length;
  let i = 0;
  for (; i < frames && !gain.still; i++) {
    const factor = gain.next();
    for (const samples of block) samples[i] *= factor;
  }
  const factor = gain.value;
  if (factor === 1) return;
  for (const samples of block) for (let k = i; k < frames; k++) samples[k] *= factor;
}
