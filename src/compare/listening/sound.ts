import type { SlotStore } from './slot-store.ts';

/** Frames in a chunk: what is fetched, kept and let go at a time. */
export const chunkFrames = 32_768;

/** Where frames can be had from, on a sound's own timeline. */
export interface Feed {
  /** Whether [from, to) is at hand; what lies outside the sound always is. */
  holds(from: number, to: number): boolean;
  /** Calls back with the pieces of [from, from + count) that are at hand: pointer, frames, how far into the stretch. */
  pieces(from: number, count: number, take: (pointer: number, frames: number, offset: number) => void): void;
}

/** Sound that sources play: chunks of it, here and there. */
export class Sound implements Feed {
  readonly key: string;
  /** Length of its timeline, frames; infinite until it is known. */
  lengthFrames = Number.POSITIVE_INFINITY;
  readonly #slots: SlotStore;
  readonly #chunks = new Map<number, number>();

  constructor(key: string, slots: SlotStore) {
    this.key = key;
    this.#slots = slots;
  }

  holds(from: number, to: number): boolean {
    const [first, last] = this.inside(from, to);
    for (let chunk = Math.floor(first / chunkFrames); chunk * chunkFrames < last; chunk++)
      if (!this.#chunks.has(chunk)) return false;
    return true;
  }

  has(chunk: number): boolean {
    return this.#chunks.has(chunk);
  }

  /** Chunks of [from, to) that it has sound for, in order. */
  chunksOf(from: number, to: number): number[] {
    const [first, last] = this.inside(from, to);
    const chunks: number[] = [];
    for (let chunk = Math.floor(first / chunkFrames); chunk * chunkFrames < last; chunk++) chunks.push(chunk);
    return chunks;
  }

  pieces(from: number, count: number, take: (pointer: number, frames: number, offset: number) => void): void {
    const [first, last] = this.inside(from, from + count);
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

  /** What of [from, to) lies inside the sound. */
  inside(from: number, to: number): [number, number] {
    return [Math.max(0, from), Math.min(this.lengthFrames, to)];
  }
}
