import { highPass, lowPass, passAll } from '../signal/butterworth.ts';
import { amplitudeToDb, powerToDb } from '../signal/decibels.ts';
import { kaiser } from '../signal/interpolation.ts';
import { type Biquad, stateForm } from '../signal/k-weighting.ts';
import { floats, type Kernels } from '../signal/kernels.ts';
import { chunkFrames, type SoundFeed } from './sound-feed.ts';
import { holdsBand, type WideBand, wideBands } from './wide-bands.ts';

/** Cells a second that are aimed at: short against a drum hit, long against a cycle of all but the bass. */
const cellsPerSecond = 187.5;
/** The lower three bands are filtered at a lower rate, at least this, Hz: peaks of 2 kHz are then read to 0.3 dB as a rule. */
const lowestRate = 11000;
/**
 * Length of the low-pass before that, in samples of the lower rate, and Kaiser's parameter for it: what folds back below
 * 2 kHz is about 55 dB down, because the lower rate is more than five times as high.
 */
const decimationLength = 6;
const kaiserBeta = 5;

/** Gets the mean power of cells in each of the five bands, all channels added; 0 in bands that the rate does not hold. */
export interface BandCellTaker {
  /** @param powers five a cell; only good during the call */
  takeCells(powers: Float64Array, cells: number): void;
}

export interface BandCrest {
  readonly band: WideBand;
  /** Highest sample minus RMS of the band, dB, of the channel with the most power in it; null where it is silent. */
  readonly crestDb: number | null;
}

interface Pair {
  readonly slow: readonly [number, number];
  /** Filter states: presence and air; low and low-mid; mid. */
  readonly states: readonly [number, number, number];
}

/**
 * Splits the sound into the five wide bands with Linkwitz-Riley filters of fourth order and keeps energy and peak of
 * cells of about 5 ms: crest by band, and what onsets are found from. Peaks are sample peaks of the filtered sound.
 */
export class BandLevelMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #cellFrames: number;
  readonly #factor: number;
  readonly #taps: number;
  readonly #tapCount: number;
  readonly #filters: readonly [number, number, number];
  readonly #pairs: readonly Pair[];
  readonly #cells: number;
  readonly #taker: BandCellTaker;
  /** By channel, then band. */
  readonly #energies: Float64Array;
  readonly #peaks: Float64Array;
  readonly #powers: Float64Array;
  #frames = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, taker: BandCellTaker) {
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#taker = taker;
    this.#factor = 2 ** Math.min(8, Math.max(0, Math.floor(Math.log2(sampleRate / lowestRate))));
    this.#cellFrames = cellFramesOf(sampleRate);
    const slowRate = sampleRate / this.#factor;
    const [low, lowMid, mid, presence, air] = wideBands;
    this.#filters = [
      this.#filterSet(presence, air, sampleRate),
      this.#filterSet(low, lowMid, slowRate),
      this.#filterSet(mid, mid, slowRate),
    ];
    const taps = decimationTaps(this.#factor);
    this.#tapCount = taps.length;
    this.#taps = kernels.allocate(taps.byteLength);
    floats(kernels, this.#taps, taps.length).set(taps);
    const count = Math.ceil(feed.pointers.length / 2);
    const slowRoom = () => kernels.allocate((chunkFrames / this.#factor) * 4);
    const state = () => kernels.allocate(128);
    this.#pairs = Array.from({ length: count }, () => ({
      slow: [slowRoom(), slowRoom()],
      states: [state(), state(), state()],
    }));
    this.#cells = kernels.allocate((chunkFrames / this.#cellFrames) * 32 * 3);
    this.#energies = new Float64Array(2 * count * wideBands.length);
    this.#peaks = new Float64Array(2 * count * wideBands.length);
    this.#powers = new Float64Array((chunkFrames / this.#cellFrames) * wideBands.length);
  }

  take(frames: number): void {
    const cells = Math.ceil(frames / this.#cellFrames);
    this.#powers.fill(0);
    this.#pairs.forEach((pair, p) => {
      this.#filterPair(pair, p, cells);
    });
    this.#taker.takeCells(this.#powers, cells);
    this.#frames += frames;
  }

  finish(): BandCrest[] {
    const channels = this.#feed.pointers.length;
    return wideBands.flatMap((band, b) => {
      if (!holdsBand(band, this.#rate)) return [];
      let loudest = 0;
      const at = (channel: number) => channel * wideBands.length + b;
      for (let c = 1; c < channels; c++) if (this.#energies[at(c)] > this.#energies[at(loudest)]) loudest = c;
      const power = this.#energies[at(loudest)] / this.#frames;
      // Filters keep ringing at the bottom of single precision: -120 dBFS is silence.
      return [
        { band, crestDb: power > 1e-12 ? amplitudeToDb(this.#peaks[at(loudest)]) - powerToDb(power) : null },
      ];
    });
  }

  #filterPair({ slow, states }: Pair, p: number, cells: number): void {
    const k = this.#kernels;
    const first = this.#feed.pointers[2 * p];
    const second = this.#feed.pointers[2 * p + 1] ?? first;
    const alone = second === first;
    const frames = cells * this.#cellFrames;
    const slowFrames = frames / this.#factor;
    const slowCell = this.#cellFrames / this.#factor;
    [first, second].forEach((pointer, side) => {
      if (side === 1 && alone) return;
      // The last window ends with the chunk.
      k.decimate(
        pointer + 4 * (this.#factor - this.#tapCount),
        this.#taps,
        this.#tapCount,
        this.#factor,
        slowFrames,
        slow[side],
      );
    });
    const bytes = (chunkFrames / this.#cellFrames) * 32;
    const [fast, lows, mids] = [this.#cells, this.#cells + bytes, this.#cells + 2 * bytes];
    const [left, right] = [slow[0], slow[alone ? 0 : 1]];
    k.splitBands(first, second, frames, this.#cellFrames, this.#filters[0], states[0], fast);
    k.splitBands(left, right, slowFrames, slowCell, this.#filters[1], states[1], lows);
    k.splitBands(left, right, slowFrames, slowCell, this.#filters[2], states[2], mids);
    this.#take(lows, 0, p, cells, this.#factor, alone);
    this.#take(lows, 1, p, cells, this.#factor, alone);
    this.#take(mids, 2, p, cells, this.#factor, alone);
    this.#take(fast, 3, p, cells, 1, alone);
    this.#take(fast, 4, p, cells, 1, alone);
  }

  /** Takes one band of one pair from the cells the kernel wrote; the band stands in lanes 0-1 or 2-3. */
  #take(pointer: number, band: number, pair: number, cells: number, factor: number, alone: boolean): void {
    if (!holdsBand(wideBands[band], this.#rate)) return;
    const lane = band === 1 || band === 4 ? 2 : 0;
    const view = floats(this.#kernels, pointer, cells * 8);
    const first = 2 * pair * wideBands.length + band;
    const second = first + wideBands.length;
    const powers = this.#powers;
    const scale = factor / this.#cellFrames;
    let [energyFirst, energySecond, peakFirst, peakSecond] = [0, 0, 0, 0];
    for (let cell = 0; cell < cells; cell++) {
      const o = 8 * cell + lane;
      let energy = view[o];
      energyFirst += energy;
      if (view[o + 4] > peakFirst) peakFirst = view[o + 4];
      if (!alone) {
        energy += view[o + 1];
        energySecond += view[o + 1];
        if (view[o + 5] > peakSecond) peakSecond = view[o + 5];
      }
      powers[cell * wideBands.length + band] += energy * scale;
    }
    this.#energies[first] += factor * energyFirst;
    this.#peaks[first] = Math.max(this.#peaks[first], peakFirst);
    if (alone) return;
    this.#energies[second] += factor * energySecond;
    this.#peaks[second] = Math.max(this.#peaks[second], peakSecond);
  }

  /** Coefficients of two bands for the kernel: lanes 0 and 1 the first band, 2 and 3 the second. */
  #filterSet(first: WideBand, second: WideBand, rate: number): number {
    const pointer = this.#kernels.allocate(160);
    const [a, b] = [first, second].map((band) => bandFilters(band, rate).flatMap(stateForm));
    floats(this.#kernels, pointer, 40).set(a.flatMap((value, i) => [value, value, b[i], b[i]]));
    return pointer;
  }
}

/** Frames of a cell: a power of two that fits into chunks. */
function cellFramesOf(sampleRate: number): number {
  return 2 ** Math.min(12, Math.max(2, Math.round(Math.log2(sampleRate / cellsPerSecond))));
}

/** Seconds of a cell, 4 to 7.5 ms at usual rates. */
export function bandCellSeconds(sampleRate: number): number {
  return cellFramesOf(sampleRate) / sampleRate;
}

/** High-pass and low-pass, each to be used twice; those that the rate has no room for let everything through. */
function bandFilters({ lowHz, highHz }: WideBand, rate: number): Biquad[] {
  const high = lowHz < 0.45 * rate ? highPass(lowHz, rate) : passAll;
  const low = highHz < 0.45 * rate ? lowPass(highHz, rate) : passAll;
  return [high, low];
}

/** Low-pass at half the lower rate; four samples that change nothing where the rate stays. */
function decimationTaps(factor: number): Float32Array {
  if (factor === 1) return Float32Array.of(0, 0, 0, 1);
  const length = decimationLength * factor;
  const taps = Float64Array.from({ length }, (_, i) => {
    const x = i - (length - 1) / 2;
    const turn = (Math.PI * x) / factor;
    return (Math.sin(turn) / turn) * kaiser(x / (length / 2), kaiserBeta);
  });
  const sum = taps.reduce((all, tap) => all + tap, 0);
  return Float32Array.from(taps, (tap) => tap / sum);
}
