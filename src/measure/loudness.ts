import { kWeighting, kWeightingRates, stateForm } from '../signal/k-weighting.ts';
import { doubles, type Kernels } from '../signal/kernels.ts';
import { channelWeights } from './channel-weights.ts';
import { integratedLufs, loudnessLufs, rangeLu } from './gating.ts';
import type { LoudnessResult, Traces } from './measurement.ts';
import type { SoundFeed } from './sound-feed.ts';

/** Energy is kept in ticks of 20 ms, fine enough for the maximum momentary loudness of EBU Tech 3341 signals 13 and 14. */
const ticksPerSecond = 50;
/** Blocks begin every 100 ms: 75 % overlap of 400 ms blocks (BS.1770-5), 10 Hz for the range (Tech 3342). */
const ticksPerStep = 5;
const momentaryTicks = 20;
const shortTermTicks = 150;

export interface LoudnessReading {
  readonly result: LoudnessResult;
  readonly trace: Traces['loudness'];
}

/**
 * Loudness after ITU-R BS.1770-5 and EBU Tech 3341, range after EBU Tech 3342. Channel powers are added with
 * the weights of channel-weights.ts; a mono file is one channel (997 Hz at full scale reads -3.01 LUFS), not
 * two loudspeakers. An incomplete last block is left out, as in the standard.
 */
export class LoudnessMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #weights: readonly number[];
  readonly #filters: number;
  /** For each pair of channels: filter state (four vectors), then two sums. */
  readonly #pairs: readonly { readonly state: number; readonly sums: number }[];
  readonly #measurable: boolean;
  /** Weighted sum of squares of each complete tick. */
  readonly #energies: number[] = [];
  #frames = 0;
  #tickEnd: number;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#measurable = sampleRate >= kWeightingRates.lowest && sampleRate <= kWeightingRates.highest;
    this.#weights = channelWeights(feed.pointers.length);
    this.#filters = kernels.allocate(10 * 8);
    this.#pairs = Array.from({ length: Math.ceil(feed.pointers.length / 2) }, () => ({
      state: kernels.allocate(64),
      sums: kernels.allocate(16),
    }));
    if (this.#measurable) {
      const { shelf, highPass } = kWeighting(sampleRate);
      doubles(kernels, this.#filters, 10).set([shelf, highPass].flatMap(stateForm));
    }
    this.#tickEnd = this.#boundary(1);
  }

  take(frames: number): void {
    if (!this.#measurable) return;
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, this.#tickEnd - this.#frames);
      this.#weigh(at, count);
      at += count;
      this.#frames += count;
      if (this.#frames === this.#tickEnd) this.#endTick();
    }
  }

  finish(): LoudnessReading {
    const momentary = this.#windowPowers(momentaryTicks, ticksPerStep);
    const shortTerm = this.#windowPowers(shortTermTicks, ticksPerStep);
    const reading = {
      integratedLufs: integratedLufs(momentary),
      rangeLu: rangeLu(shortTerm),
      maxMomentaryLufs: loudestLufs(this.#windowPowers(momentaryTicks, 1)),
      maxShortTermLufs: loudestLufs(shortTerm),
    };
    return {
      result: { ...reading, reason: this.#reason(reading) },
      trace: {
        stepSeconds: ticksPerStep / ticksPerSecond,
        momentaryLufs: this.#trace(momentary, momentaryTicks),
        shortTermLufs: this.#trace(shortTerm, shortTermTicks),
        stepPowers: this.#windowPowers(ticksPerStep, ticksPerStep).map(toSinglePrecision),
      },
    };
  }

  /** Frame at which tick number `index` begins; rounded, for rates that are no multiple of 50 Hz. */
  #boundary(index: number): number {
    return Math.round((index * this.#rate) / ticksPerSecond);
  }

  #weigh(at: number, count: number): void {
    const pointers = this.#feed.pointers;
    this.#pairs.forEach(({ state, sums }, pair) => {
      const first = pointers[2 * pair] + 4 * at;
      const second = (pointers[2 * pair + 1] ?? pointers[2 * pair]) + 4 * at;
      this.#kernels.weighK(first, second, count, this.#filters, state, sums);
    });
  }

  #endTick(): void {
    let energy = 0;
    this.#pairs.forEach(({ sums }, pair) => {
      const view = doubles(this.#kernels, sums, 2);
      energy += view[0] * this.#weights[2 * pair] + view[1] * (this.#weights[2 * pair + 1] ?? 0);
      view.fill(0);
    });
    this.#energies.push(energy);
    this.#tickEnd = this.#boundary(this.#energies.length + 1);
  }

  /** Mean power of the windows of `ticks` ticks that end at `ticks`, `ticks + hop`, ... */
  #windowPowers(ticks: number, hop: number): number[] {
    const powers: number[] = [];
    for (let end = ticks; end <= this.#energies.length; end += hop) {
      // Summed anew each time: a running sum would leave rounding dust of loud passages in silent ones.
      let energy = 0;
      for (let i = end - ticks; i < end; i++) energy += this.#energies[i];
      powers.push(energy / (this.#boundary(end) - this.#boundary(end - ticks)));
    }
    return powers;
  }

  /** One value a complete step, null until the first window is full and in silence. */
  #trace(powers: readonly number[], ticks: number): (number | null)[] {
    const steps = Math.floor(this.#energies.length / ticksPerStep);
    return Array.from({ length: steps }, (_, step) => {
      const power = powers[step + 1 - ticks / ticksPerStep] ?? 0;
      return power > 0 ? loudnessLufs(power) : null;
    });
  }

  #reason(reading: Omit<LoudnessResult, 'reason'>): string | null {
    if (!Object.values(reading).includes(null)) return null;
    if (!this.#measurable) return 'Loudness is defined for sample rates from 8 kHz to 768 kHz.';
    if (this.#energies.length < momentaryTicks) return 'Shorter than 400 ms: too short for loudness.';
    if (reading.maxMomentaryLufs === null) return 'Silence has no loudness.';
    if (reading.integratedLufs === null)
      return 'Nowhere louder than -70 LUFS: below the gate of the loudness standard.';
    if (this.#energies.length < shortTermTicks)
      return 'Shorter than 3 s: too short for short-term loudness and loudness range.';
    return 'Never louder than -70 LUFS for 3 s: too quiet for a loudness range.';
  }
}

/** Kept as text, where seven digits (1e-6 dB) are half as long as all of them. */
function toSinglePrecision(power: number): number {
  return Number(power.toPrecision(7));
}

function loudestLufs(powers: readonly number[]): number | null {
  let loudest = 0;
  for (const power of powers) loudest = Math.max(loudest, power);
  return loudest > 0 ? loudnessLufs(loudest) : null;
}
