import { powerToDb } from '../signal/decibels.ts';
import { percentile } from './percentile.ts';
import { StepRows } from './step-rows.ts';
import { leastWeight, type SpectrumTaker } from './tone-over-time.ts';

/** The low end, Hz: upper edge from the trade's talk of 'low end', lower edge of hearing (heuristic). */
export const lowEndHz = { from: 20, to: 150 };
/** It is present while its level is within this of its loud passages (95th percentile), dB (heuristic). */
const presentDb = 15;
/** Mean power at or below which there is none: -70 dBFS. */
const silence = 1e-7;

/** What carries the bottom of a song, and how steadily. Figures are null where nothing lies below 150 Hz. */
export interface LowEndResult {
  /** Centre of the power between 20 and 150 Hz over the whole song, Hz. */
  readonly centreHz: number | null;
  /** How far that centre moves while the low end is present: 10th to 90th percentile, octaves; 0.6 for a bass line that walks a fifth. */
  readonly centreSpreadOctaves: number | null;
  /** How far its level moves while it is present: 10th to 90th percentile, dB. */
  readonly levelSpreadDb: number | null;
  /** Share of the song in which it is present (within 15 dB of its loud passages, heuristic), 0..1. */
  readonly presentShare: number | null;
}

/** The low end from the frames that the tone meter transforms anyway, two or three a second, all channels added. */
export class LowEndMeter implements SpectrumTaker {
  readonly #size: number;
  readonly #binHz: number;
  readonly #rows = new StepRows();

  /** @param size samples in a frame of the tone meter */
  constructor(sampleRate: number, size: number) {
    this.#size = size;
    this.#binHz = sampleRate / size;
  }

  take(power: Float64Array, weight: number): void {
    if (weight < leastWeight) return;
    const last = Math.min(power.length - 1, Math.floor(lowEndHz.to / this.#binHz));
    let sum = 0;
    let moment = 0;
    for (let k = Math.ceil(lowEndHz.from / this.#binHz); k <= last; k++) {
      sum += power[k];
      moment += power[k] * k;
    }
    // As in ToneOverTime: one-sided mean square of the frame.
    const scale = 4 / (this.#size * this.#size);
    this.#rows.add(Float64Array.of(scale * sum, scale * moment * this.#binHz), weight);
  }

  finish(): LowEndResult {
    const { rows } = this.#rows.finish();
    const powers = rows.map(([power]) => power).filter((power) => power > silence);
    if (powers.length === 0)
      return { centreHz: null, centreSpreadOctaves: null, levelSpreadDb: null, presentShare: null };
    const least = percentile(powers, 0.95) * 10 ** (-presentDb / 10);
    const present = rows.filter(([power]) => power > silence && power >= least);
    const total = present.reduce((sum, [power]) => sum + power, 0);
    const moment = present.reduce((sum, [, m]) => sum + m, 0);
    const octaves = present.map(([power, m]) => Math.log2(m / power));
    const levels = present.map(([power]) => powerToDb(power));
    return {
      centreHz: moment / total,
      centreSpreadOctaves: percentile(octaves, 0.9) - percentile(octaves, 0.1),
      levelSpreadDb: percentile(levels, 0.9) - percentile(levels, 0.1),
      presentShare: present.length / rows.length,
    };
  }
}
