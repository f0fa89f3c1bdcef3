import { powerToDb } from '../signal/decibels.ts';
import type { PairSpectrum } from '../signal/pair-spectrum.ts';
import { StepRows } from './step-rows.ts';
import { type Band, thirdOctaves } from './third-octaves.ts';

/** Levels of digital silence and of anything quieter than a 24-bit file can hold. */
export const bandFloorDb = -150;

/** Level in third octaves over time, all channels added by power. */
export interface BandTrace {
  /** Seconds from one step to the next: 0.26 to 0.68, more in sounds of more than about twenty minutes. */
  readonly stepSeconds: number;
  /** The middle of step 0; step i looks at the sound around `firstSeconds + i * stepSeconds`, two steps wide. */
  readonly firstSeconds: number;
  /** Nominal third-octave centres, Hz (IEC 61260-1), as in ToneResult. */
  readonly centresHz: readonly number[];
  /** One array a step, a level a centre: mean square, dB relative to 1 (a full-scale sine reads -3.01); never below -150. */
  readonly levelsDb: readonly Float32Array[];
}

/** Gets the spectrum of each frame of the tone meter. */
export interface SpectrumTaker {
  /**
   * @param power bins 0..size/2: |X|^2 of the windowed frame, channels added; only good during the call
   * @param weight share of the window's energy that lay over the sound: 1 but for the first and last frames
   */
  take(power: Float64Array, weight: number): void;
  /** Called before `take`, for sounds of two channels or more: the transform of the first two; only good during the call. */
  takePair?(pair: PairSpectrum): void;
}

/** Steps with less of the sound than this are left out: too short to tell a low band by. */
export const leastWeight = 0.1;

/**
 * Third octaves over time from the frames that the tone meter transforms anyway, half a frame apart (0.34 s at
 * 48 kHz). Powers are added before they become levels, so joined steps are means of power.
 */
export class ToneOverTime implements SpectrumTaker {
  readonly #bands: readonly Band[];
  readonly #edges: readonly BandEdges[];
  readonly #rows = new StepRows();
  readonly #stepSeconds: number;
  readonly #scale: number;

  /** @param size samples in a frame */
  constructor(sampleRate: number, size: number) {
    this.#bands = thirdOctaves(sampleRate);
    this.#edges = this.#bands.map((band) => edgesOf(band, sampleRate / size, size / 2 + 1));
    this.#stepSeconds = size / 2 / sampleRate;
    // One-sided (x2), Parseval (/size), mean over a sine window (whose squares add to size/2).
    this.#scale = 4 / (size * size);
  }

  take(power: Float64Array, weight: number): void {
    if (weight < leastWeight) return;
    const row = new Float64Array(this.#edges.length);
    for (let b = 0; b < row.length; b++) row[b] = this.#scale * powerWithin(power, this.#edges[b]);
    this.#rows.add(row, weight);
  }

  finish(): BandTrace {
    const { rows, stepsInRow } = this.#rows.finish();
    const floor = 10 ** (bandFloorDb / 10);
    return {
      stepSeconds: this.#stepSeconds * stepsInRow,
      firstSeconds: (this.#stepSeconds * (stepsInRow - 1)) / 2,
      centresHz: this.#bands.map(({ nominalHz }) => nominalHz),
      levelsDb: rows.map((row) => Float32Array.from(row, (power) => powerToDb(Math.max(power, floor)))),
    };
  }
}

/** Bins of a band: `first` and `last` by their shares, those between whole. */
interface BandEdges {
  readonly first: number;
  readonly firstShare: number;
  readonly last: number;
  readonly lastShare: number;
}

/** A bin reaches half a bin to either side of its centre and is shared out by overlap, as in the long-term spectrum. */
function edgesOf({ lowHz, highHz }: Band, binHz: number, bins: number): BandEdges {
  const low = lowHz / binHz + 0.5;
  const high = Math.min(highHz / binHz + 0.5, bins);
  const first = Math.floor(low);
  const last = Math.min(Math.floor(high), bins - 1);
  if (first === last) return { first, firstShare: high - low, last, lastShare: 0 };
  return { first, firstShare: first + 1 - low, last, lastShare: high - last };
}

function powerWithin(power: Float64Array, { first, firstShare, last, lastShare }: BandEdges): number {
  let sum = power[first] * firstShare + power[last] * lastShare;
  for (let k = first + 1; k < last; k++) sum += power[k];
  return sum;
}
