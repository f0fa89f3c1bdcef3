/**
 * Analogue filters of first and second order, the shapes that an equaliser's bands have:
 * H(s) = (b2 s^2 + b1 s + b0) / (a2 s^2 + a1 s + a0), s in units of 2 pi `hertz`.
 * The prototypes of bells and shelves are those of the Audio EQ Cookbook (R. Bristow-Johnson; from memory).
 */
export interface AnalogueSection {
  readonly hertz: number;
  readonly b: readonly [b0: number, b1: number, b2: number];
  readonly a: readonly [a0: number, a1: number, a2: number];
}

/** Gain at `hertz`, as a power ratio. */
export function analoguePower({ hertz, b, a }: AnalogueSection, at: number): number {
  const w = at / hertz;
  const power = (c: readonly [number, number, number]) => (c[0] - c[2] * w * w) ** 2 + (c[1] * w) ** 2;
  return power(b) / power(a);
}

/** Gain of sections in a row at `hertz`, dB. */
export function analogueGainDb(sections: readonly AnalogueSection[], at: number): number {
  return sections.reduce((sum, section) => sum + 10 * Math.log10(analoguePower(section, at)), 0);
}

/** Rises or falls by `gainDb` at `hertz`; `q` for the width, the same for boost and cut. */
export function bell(hertz: number, gainDb: number, q: number): AnalogueSection {
  const a = 10 ** (gainDb / 40);
  return { hertz, b: [1, a / q, 1], a: [1, 1 / (a * q), 1] };
}

/** `gainDb` far below `hertz`, half of it (in dB) at `hertz`, 0 dB far above. */
export function lowShelf(hertz: number, gainDb: number, q: number): AnalogueSection {
  const a = 10 ** (gainDb / 40);
  const root = Math.sqrt(a) / q;
  return { hertz, b: [a * a, a * root, a], a: [1, root, a] };
}

/** `gainDb` far above `hertz`, half of it (in dB) at `hertz`, 0 dB far below. */
export function highShelf(hertz: number, gainDb: number, q: number): AnalogueSection {
  const a = 10 ** (gainDb / 40);
  const root = Math.sqrt(a) / q;
  return { hertz, b: [a, a * root, a * a], a: [a, root, 1] };
}

/** First order: -gainDb/2 far below `hertz`, 0 dB there, +gainDb/2 far above. */
export function tilt(hertz: number, gainDb: number): AnalogueSection {
  const a = 10 ** (gainDb / 40);
  return { hertz, b: [1, a, 0], a: [a, 1, 0] };
}

/** Butterworth low- or high-pass of even `order`: -3.01 dB at `hertz`, 6 dB an octave and order beyond (textbook). */
export function pass(kind: 'low-pass' | 'high-pass', hertz: number, order: number): AnalogueSection[] {
  return Array.from({ length: order / 2 }, (_, k) => {
    const damping = 2 * Math.sin((Math.PI * (2 * k + 1)) / (2 * order));
    return { hertz, b: kind === 'low-pass' ? [1, 0, 0] : [0, 0, 1], a: [1, damping, 1] } as const;
  });
}
