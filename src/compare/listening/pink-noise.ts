/** Mean level of each channel, dBFS RMS. */
const levelDb = -20;
/** Poles stand an octave apart from here up to half the rate, each with a zero half an octave above: -3 dB an octave. */
const lowestHertz = 8;

/**
 * Pink noise for calibrating, both channels independent of each other: repeatable, -20 dBFS RMS each, falling by 3 dB an
 * octave within 0.3 dB from 20 Hz to 0.4 of the rate (computed in a test). Cascade of first-order sections (common practice).
 */
export class PinkNoise {
  readonly #sections: readonly { readonly pole: number; readonly zero: number }[];
  readonly #gain: number;
  readonly #states: readonly Float64Array[];
  #random = 0x2545f491;

  constructor(sampleRate: number) {
    const sections: { pole: number; zero: number }[] = [];
    for (let hertz = lowestHertz; hertz < sampleRate / 2; hertz *= 2)
      sections.push({
        pole: Math.exp((-2 * Math.PI * hertz) / sampleRate),
        zero: Math.exp((-2 * Math.PI * hertz * Math.SQRT2) / sampleRate),
      });
    this.#sections = sections;
    this.#states = [0, 1].map(() => new Float64Array(sections.length));
    // White noise of -1..1 has a power of 1/3; the cascade's own gain is the energy of its answer to an impulse.
    this.#gain = 10 ** (levelDb / 20) / Math.sqrt(impulseEnergy(sections) / 3);
  }

  /** Adds noise to both channels, from `gain` on, moved by `step` a sample. */
  add(left: Float32Array, right: Float32Array, count: number, gain: number, step: number): void {
    for (let i = 0; i < count; i++) {
      const level = (gain + step * i) * this.#gain;
      left[i] += level * this.#next(0);
      right[i] += level * this.#next(1);
    }
  }

  #next(channel: number): number {
    // Xorshift (Marsaglia 2003): plenty for noise, and the same every time.
    this.#random ^= this.#random << 13;
    this.#random ^= this.#random >>> 17;
    this.#random ^= this.#random << 5;
    let x = this.#random / 2 ** 31;
    const state = this.#states[channel];
    for (const [k, { pole, zero }] of this.#sections.entries()) {
      const y = x + state[k];
      state[k] = pole * y - zero * x;
      x = y;
    }
    return x;
  }
}

/** By Parseval, on a grid that is fine where the poles are: equal steps of the logarithm. */
function impulseEnergy(sections: readonly { readonly pole: number; readonly zero: number }[]): number {
  const points = 4000;
  const [low, high] = [1e-6, Math.PI];
  const ratio = Math.log(high / low) / points;
  const gainAt = (w: number): number =>
    sections.reduce((all, { pole, zero }) => {
      const c = 2 * Math.cos(w);
      return (all * (1 + zero * zero - zero * c)) / (1 + pole * pole - pole * c);
    }, 1);
  let sum = low * gainAt(low);
  for (let k = 0; k < points; k++) {
    const w = low * Math.exp((k + 0.5) * ratio);
    sum += gainAt(w) * w * ratio;
  }
  return sum / Math.PI;
}
