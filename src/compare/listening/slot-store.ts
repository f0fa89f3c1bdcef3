import { floats, type Kernels } from '../../signal/kernels.ts';

/** Room for chunks in the kernels' memory, used again and again: as much as were ever held at once. */
export class SlotStore {
  readonly #kernels: Kernels;
  readonly #slotFrames: number;
  readonly #free: number[] = [];
  #made = 0;

  constructor(kernels: Kernels, slotFrames: number) {
    this.#kernels = kernels;
    this.#slotFrames = slotFrames;
  }

  /** Bytes taken for chunks, used or free. */
  get bytes(): number {
    return this.#made * this.#slotFrames * 8;
  }

  /** Makes room for so many, before there is a sound that growing the memory could disturb. */
  reserve(slots: number): void {
    while (this.#made < slots) {
      this.#made++;
      this.#free.push(this.#kernels.allocate(8 * this.#slotFrames));
    }
  }

  take(): number {
    const free = this.#free.pop();
    if (free !== undefined) return free;
    this.#made++;
    return this.#kernels.allocate(8 * this.#slotFrames);
  }

  giveBack(pointer: number): void {
    this.#free.push(pointer);
  }

  /** Interleaved frames; silence after them. */
  fill(pointer: number, samples: Float32Array): void {
    const slot = floats(this.#kernels, pointer, 2 * this.#slotFrames);
    slot.set(samples.subarray(0, slot.length));
    slot.fill(0, samples.length);
  }
}
