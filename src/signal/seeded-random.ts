/**
 * Random numbers that are the same for the same seed, on every machine: xoshiro128** (Blackman and Vigna 2018, from
 * memory), its 128 bits of state filled from the seed's text by a mixing of FNV-1a and murmur's finaliser. Good for
 * designs, simulation and dither; not for secrets.
 */
export class SeededRandom {
  #a: number;
  #b: number;
  #c: number;
  #d: number;
  #spare: number | null = null;

  constructor(seed: string | number) {
    const text = String(seed);
    [this.#a, this.#b, this.#c, this.#d] = [1, 2, 3, 4].map((lane) => mixed(text, lane));
    // The one state that stays where it is.
    if ((this.#a | this.#b | this.#c | this.#d) === 0) this.#a = 1;
  }

  /** A whole number, 0 to 2^32 - 1. */
  bits(): number {
    const times5 = Math.imul(this.#b, 5);
    const result = Math.imul((times5 << 7) | (times5 >>> 25), 9) >>> 0;
    const shifted = this.#b << 9;
    this.#c ^= this.#a;
    this.#d ^= this.#b;
    this.#b ^= this.#c;
    this.#a ^= this.#d;
    this.#c ^= shifted;
    this.#d = (this.#d << 11) | (this.#d >>> 21);
    return result;
  }

  /** Even in [0, 1), in steps of 2^-32. */
  unit(): number {
    return this.bits() * 2 ** -32;
  }

  /** A whole number in [0, below); `below` up to 2^32. Uneven by less than below / 2^32. */
  below(below: number): number {
    return Math.floor(this.unit() * below);
  }

  /** Normal with mean 0 and standard deviation 1 (polar method, Marsaglia 1964, from memory). */
  normal(): number {
    if (this.#spare !== null) {
      const value = this.#spare;
      this.#spare = null;
      return value;
    }
    for (;;) {
      const x = 2 * this.unit() - 1;
      const y = 2 * this.unit() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt((-2 * Math.log(square)) / square);
      this.#spare = y * scale;
      return x * scale;
    }
  }

  /** Shuffles in place, every order equally likely (Fisher and Yates), and gives the array back. */
  shuffle<Items extends { length: number; [index: number]: unknown }>(items: Items): Items {
    for (let i = items.length - 1; i > 0; i--) {
      const j = this.below(i + 1);
      [items[i], items[j]] = [items[j], items[i]];
    }
    return items;
  }
}

function mixed(text: string, lane: number): number {
  let hash = Math.imul(0x811c9dc5, lane);
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  hash ^= hash >>> 16;
  hash = Math.imul(hash, 0x85ebca6b);
  hash ^= hash >>> 13;
  hash = Math.imul(hash, 0xc2b2ae35);
  return hash ^ (hash >>> 16);
}
