import type { Random } from '../random.ts';

/** How one plucked string sounds. */
export interface Pluck {
  readonly hz: number;
  readonly velocity: number;
  /** Seconds until the string is stopped. */
  readonly seconds: number;
  /** Time to fall by 60 dB while it rings, s. */
  readonly ringSeconds: number;
  /** Time to fall by 60 dB once stopped, s. */
  readonly stopSeconds: number;
  /** 0..1: dull (a thumb, flat-wound strings) to bright (a plectrum, new strings). */
  readonly bright: number;
  /** Where it is plucked, share of its length from the bridge. */
  readonly place: number;
  /** 0..0.5: loss of the upper harmonics on each turn. */
  readonly loss: number;
}

/**
 * A plucked string after Karplus and Strong (1983), with Jaffe and Smith's (1983) all-pass tuning: a burst of noise, shaped by
 * velocity and plucking place, goes round a delay as long as one period and loses its upper harmonics turn by turn.
 * Adds to `out` from frame `start`.
 */
export function pluck(out: Float32Array, start: number, rate: number, string: Pluck, random: Random): void {
  const { hz, velocity, seconds, ringSeconds, stopSeconds, loss } = string;
  const period = rate / hz;
  const delay = period - loss;
  let whole = Math.floor(delay - 0.2);
  const part = delay - whole;
  if (whole < 2) whole = 2;
  const tuning = (1 - part) / (1 + part);

  // The burst: noise, low-passed by how hard it was plucked, combed by where, without its mean.
  const burst = new Float64Array(whole);
  const open = Math.min(0.98, 0.08 + 0.75 * string.bright * (0.35 + 0.65 * velocity));
  let smooth = 0;
  for (let turn = 0; turn < 2; turn++)
    for (let i = 0; i < whole; i++) {
      const x = turn === 0 ? 0 : 2 * random() - 1;
      smooth += open * (x - smooth);
      burst[i] = smooth;
    }
  const comb = Math.max(1, Math.round(string.place * whole));
  const memory = new Float64Array(whole);
  let mean = 0;
  let power = 0;
  for (let i = 0; i < whole; i++) {
    memory[i] = burst[i] - 0.9 * burst[(i - comb + whole) % whole];
    mean += memory[i] / whole;
  }
  for (let i = 0; i < whole; i++) {
    memory[i] -= mean;
    power += (memory[i] * memory[i]) / whole;
  }
  const level = (0.25 * velocity ** 1.3) / Math.sqrt(power + 1e-9);
  for (let i = 0; i < whole; i++) memory[i] *= level;

  const turnGain = (fall: number) => 10 ** ((-3 * period) / (rate * fall));
  const ringing = turnGain(ringSeconds);
  const stopped = turnGain(stopSeconds);
  const stopAt = start + Math.round(seconds * rate);
  const end = Math.min(
    out.length,
    start + Math.round((Math.min(seconds, 1.3 * ringSeconds) + 1.4 * stopSeconds) * rate),
  );
  const fadeFrom = end - Math.round(0.01 * rate);
  const rise = Math.round(0.0006 * rate);
  let at = 0;
  let lastX = 0;
  let lastIn = 0;
  let lastOut = 0;
  for (let i = start; i < end; i++) {
    const x = memory[at];
    const gain = i < stopAt ? ringing : stopped;
    const damped = gain * ((1 - loss) * x + loss * lastX);
    lastX = x;
    const tuned = tuning * (damped - lastOut) + lastIn;
    lastIn = damped;
    lastOut = tuned;
    memory[at] = tuned;
    if (++at === whole) at = 0;
    const edge = i - start < rise ? (i - start) / rise : i > fadeFrom ? (end - i) / (end - fadeFrom) : 1;
    out[i] += edge * x;
  }
}
