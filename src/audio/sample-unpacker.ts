import { floats, instantiateKernels, type Kernels, octets } from '../signal/kernels.ts';
import type { PcmLayout } from './pcm-layout.ts';
import { bytesPerSample, decodeSamples } from './sample-coding.ts';

/** Bytes that the kernel may look at beyond the last sample. */
const slack = 16;

/** `decodeSamples` for the blocks of one file, through the kernel where it knows the coding. */
export class SampleUnpacker {
  readonly #layout: PcmLayout;
  readonly #kernels: Kernels | null;
  readonly #bytes: number = 0;
  readonly #out: number = 0;
  readonly #room: number;

  /** @param blockFrames most frames in a block */
  constructor(layout: PcmLayout, blockFrames: number) {
    const { coding, littleEndian, info } = layout;
    this.#layout = layout;
    this.#room = blockFrames;
    const isKnown = littleEndian && (coding === 's16' || coding === 's24' || coding === 's32');
    this.#kernels = isKnown ? instantiateKernels() : null;
    if (!this.#kernels) return;
    this.#bytes = this.#kernels.allocate(blockFrames * info.channels * bytesPerSample[coding] + slack);
    this.#out = this.#kernels.allocate(blockFrames * info.channels * 4);
  }

  /**
   * Planar float; bytes beyond the last whole frame are left alone.
   * @param lent whether the arrays may be filled anew by the next call; otherwise they are the caller's own
   */
  unpack(bytes: Uint8Array, lent = false): Float32Array[] {
    const { coding, littleEndian, info } = this.#layout;
    const kernels = this.#kernels;
    if (!kernels) return decodeSamples(bytes, coding, info.channels, littleEndian);
    const width = bytesPerSample[coding];
    const frames = Math.floor(bytes.length / (width * info.channels));
    octets(kernels, this.#bytes, bytes.length).set(bytes);
    kernels.unpackIntegers(this.#bytes, width, info.channels, frames, this.#out, this.#room);
    return Array.from({ length: info.channels }, (_, channel) => {
      const samples = floats(kernels, this.#out + 4 * channel * this.#room, frames);
      return lent ? samples : samples.slice();
    });
  }
}
