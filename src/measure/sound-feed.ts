import { frameCount, type Pcm } from '../audio/pcm.ts';
import { floats, type Kernels } from '../signal/kernels.ts';

/** Frames in a chunk: as many as the caches hold gladly, because each chunk costs a few hundred calls. */
export const chunkFrames = 16384;
/** Frames of the past that stay readable before a chunk; zeros at the start of the sound. */
const lookBackFrames = chunkFrames;
/** Chunks that stand one after the other before the next is put at the beginning again. */
const chunksInRow = 2;
/** Frames of silence after the end of the last chunk. */
const lookAheadFrames = 192;

/**
 * Called for each chunk; `frames` is `chunkFrames` except for the last one, where it is less (down to 0) and
 * the samples after it are zeros.
 */
export type ChunkTaker = (frames: number, last: boolean) => void;

/**
 * Brings blocks of any size into the kernels' memory as chunks of one size, so that what is measured does not
 * depend on how the sound was cut. All measuring kernels read the same chunk, and may look back at the one before.
 */
export class SoundFeed {
  readonly #kernels: Kernels;
  readonly #rate: number;
  readonly #rows: readonly number[];
  readonly #pointers: number[];
  #inRow = 0;
  #filled = 0;
  #frames = 0;

  constructor(kernels: Kernels, format: { readonly sampleRate: number; readonly channels: number }) {
    this.#kernels = kernels;
    this.#rate = format.sampleRate;
    const length = lookBackFrames + chunksInRow * chunkFrames + lookAheadFrames;
    this.#rows = Array.from({ length: format.channels }, () => kernels.allocate(length * 4));
    this.#pointers = this.#rows.map((row) => row + lookBackFrames * 4);
  }

  /** Where the chunk's first sample of each channel stands; another place for every chunk. */
  get pointers(): readonly number[] {
    return this.#pointers;
  }

  /** Frames taken so far. */
  get frames(): number {
    return this.#frames;
  }

  /** A view of the current chunk of one channel; good until memory is allocated. */
  chunk(channel: number): Float32Array {
    return floats(this.#kernels, this.#pointers[channel], chunkFrames);
  }

  /** Takes a block of any length, 0 included. Throws RangeError when rate or channel count is another than before. */
  push(block: Pcm, take: ChunkTaker): void {
    if (block.sampleRate !== this.#rate || block.channels.length !== this.#pointers.length)
      throw new RangeError('the blocks of a sound must agree in rate and channel count');
    const frames = frameCount(block);
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, chunkFrames - this.#filled);
      block.channels.forEach((samples, c) => {
        this.chunk(c).set(samples.subarray(at, at + count), this.#filled);
      });
      at += count;
      this.#filled += count;
      if (this.#filled === chunkFrames) {
        take(chunkFrames, false);
        this.#keepPast();
      }
    }
    this.#frames += frames;
  }

  /** Hands out what is left, padded with silence. */
  finish(take: ChunkTaker): void {
    for (const pointer of this.#pointers)
      floats(this.#kernels, pointer, chunkFrames + lookAheadFrames).fill(0, this.#filled);
    take(this.#filled, true);
  }

  #keepPast(): void {
    this.#filled = 0;
    this.#inRow = (this.#inRow + 1) % chunksInRow;
    this.#rows.forEach((row, channel) => {
      if (this.#inRow === 0)
        floats(this.#kernels, row, lookBackFrames + chunksInRow * chunkFrames).copyWithin(
          0,
          chunksInRow * chunkFrames,
        );
      this.#pointers[channel] = row + 4 * (lookBackFrames + this.#inRow * chunkFrames);
    });
  }
}
