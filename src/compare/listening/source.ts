import type { SlotStore } from './slot-store.ts';

/** Frames in a chunk: what is fetched, kept and let go at a time. */
export const chunkFrames = 32_768;

/** What is to be played beside the others. */
export interface SourceWish {
  /** Stands for its sound: what has another key is another sound. */
  readonly key: string;
  /** Where its own timeline stands when the song's is at 0, frames. */
  readonly shiftFrames: number;
  /** Gain of level matching, and of a service's turning down on top of it; factors. */
  readonly gain: number;
  readonly serviceGain: number;
}

/** One sound of the desk: chunks of it around the position, and the gain it is heard with. */
export class Source {
  readonly key: string;
  shiftFrames = 0;
  /** Length of its timeline, frames; infinite until it is known. */
  lengthFrames = Number.POSITIVE_INFINITY;
  /** Gain now, what it moves to, by how much a frame and for how many frames yet. */
  gain = 1;
  gainTo = 1;
  gainStep = 0;
  gainLeft = 0;
  readonly #slots: SlotStore;
  readonly #chunks = new Map<number, number>();

  constructor(key: string, slots: SlotStore) {
    this.key = key;
    this.#slots = slots;
  }

  /** Has the gain reach `gain` in `frames`; at once when 0. */
  moveGain(gain: number, frames: number): void {
    if (this.gainTo === gain && frames > 0) return;
    this.gainTo = gain;
    this.gainLeft = frames;
    this.gainStep = frames > 0 ? (gain - this.gain) / frames : 0;
    if (frames === 0) this.gain = gain;
  }

  /** `frames` have gone by, no more than are left. */
  advanceGain(frames: number): void {
    if (this.gainLeft === 0) return;
    this.gainLeft -= frames;
    this.gain += this.gainStep * frames;
    if (this.gainLeft > 0) return;
    this.gain = this.gainTo;
    this.gainStep = 0;
  }

  /** Whether [from, to) of its own timeline is at hand; what lies outside the sound always is. */
  holds(from: number, to: number): boolean {
    const [first, last] = this.#inside(from, to);
    for (let chunk = Math.floor(first / chunkFrames); chunk * chunkFrames < last; chunk++)
      if (!this.#chunks.has(chunk)) return false;
    return true;
  }

  has(chunk: number): boolean {
    return this.#chunks.has(chunk);
  }

  /** Chunks of [from, to) that it has sound for, in order. */
  chunksOf(from: number, to: number): number[] {
    const [first, last] = this.#inside(from, to);
    const chunks: number[] = [];
    for (let chunk = Math.floor(first / chunkFrames); chunk * chunkFrames < last; chunk++) chunks.push(chunk);
    return chunks;
  }

  /** Calls back with the pieces of [from, from + count) that are at hand: pointer, frames, how far into the stretch. */
  pieces(from: number, count: number, take: (pointer: number, frames: number, offset: number) => void): void {
    const [first, last] = this.#inside(from, from + count);
    for (let at = first; at < last; ) {
      const chunk = Math.floor(at / chunkFrames);
      const end = Math.min(last, (chunk + 1) * chunkFrames);
      const pointer = this.#chunks.get(chunk);
      if (pointer !== undefined) take(pointer + 8 * (at - chunk * chunkFrames), end - at, at - from);
      at = end;
    }
  }

  give(chunk: number, samples: Float32Array): void {
    let pointer = this.#chunks.get(chunk);
    if (pointer === undefined) {
      pointer = this.#slots.take();
      this.#chunks.set(chunk, pointer);
    }
    this.#slots.fill(pointer, samples);
  }

  /** Lets go of every chunk that is not kept. */
  keepOnly(kept: (chunk: number) => boolean): void {
    for (const [chunk, pointer] of this.#chunks)
      if (!kept(chunk)) {
        this.#chunks.delete(chunk);
        this.#slots.giveBack(pointer);
      }
  }

  #inside(from: number, to: number): [number, number] {
    return [Math.max(0, from), Math.min(this.lengthFrames, to)];
  }
}
