/** Passes samples on a whole number of samples later, bit by bit; silence first. */
export class Delay {
  readonly #rings: readonly Float32Array[];
  #at = 0;

  constructor(samples: number, channels: number) {
    this.#rings = Array.from({ length: channels }, () => new Float32Array(samples));
  }

  process(block: readonly Float32Array[]): void {
    const length = this.#rings[0].length;
    if (length === 0) return;
    let at = this.#at;
    block.forEach((samples, c) => {
      const ring = this.#rings[c];
      at = this.#at;
      for (let i = 0; i < samples.length; i++) {
        const late = ring[at];
        ring[at] = samples[i];
        samples[i] = late;
        if (++at === length) at = 0;
      }
    });
    this.#at = at;
  }

  reset(): void {
    for (const ring of this.#rings) ring.fill(0);
    this.#at = 0;
  }
}
