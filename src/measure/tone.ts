import { powerToDb } from '../signal/decibels.ts';
import { floats, type Kernels } from '../signal/kernels.ts';
import { oneSided, PairSpectrum } from '../signal/pair-spectrum.ts';
import type { ToneResult } from './measurement.ts';
import type { SoundFeed } from './sound-feed.ts';
import { type Band, thirdOctaves } from './third-octaves.ts';
import type { SpectrumTaker } from './tone-over-time.ts';

/** Widest bin that still resolves the 20 Hz band (4.6 Hz wide), Hz. */
const widestBinHz = 1.5;
/** Edges of the three shares, Hz (heuristic: the lowest band ends where voices begin, the highest begins above their body). */
const shares = { lowTopHz: 120, midTopHz: 2000, highTopHz: 20000 };
/** Span of the tilt, Hz. */
const tilt = { fromHz: 100, toHz: 10000 };

/** Length of the transform, samples: the least power of two whose bins are narrow enough. */
export function toneFrameLength(sampleRate: number): number {
  return Math.max(64, 2 ** Math.ceil(Math.log2(sampleRate / widestBinHz)));
}

/**
 * Long-term spectrum: frames of 0.67 to 1.33 s, half overlapped, sine window; silence is put before
 * and after so that every sample counts once. Channels are added by power. Whoever wants the spectrum of each frame
 * (tone over time, sections) is given it, so that nothing is transformed twice.
 */
export class ToneMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #size: number;
  readonly #spectrum: PairSpectrum;
  /** One frame being filled for each channel, and a silent one to pair an odd channel with. */
  readonly #frames: readonly number[];
  #filled: number;
  /** Samples in the frame that have not been in one before. */
  #fresh = 0;
  /** Sample of the frame at which the sound ends: the frame's length until the sound is over. */
  #soundEnd: number;
  readonly #total: Float64Array;
  readonly #takers: readonly SpectrumTaker[];
  /** Whether the old half of the frame holds sound that is to be in one more frame. */
  #hasOld = false;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, takers: readonly SpectrumTaker[] = []) {
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#size = toneFrameLength(sampleRate);
    this.#spectrum = new PairSpectrum(kernels, this.#size);
    const channels = feed.pointers.length;
    this.#frames = Array.from({ length: channels + (channels % 2) }, () => kernels.allocate(this.#size * 4));
    this.#filled = this.#size / 2;
    this.#soundEnd = this.#size;
    this.#total = new Float64Array(this.#size / 2 + 1);
    this.#takers = takers;
  }

  take(frames: number): void {
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, this.#size - this.#filled);
      this.#feed.pointers.forEach((pointer, channel) => {
        this.#frame(channel).set(floats(this.#kernels, pointer + 4 * at, count), this.#filled);
      });
      at += count;
      this.#filled += count;
      this.#fresh += count;
      if (this.#filled === this.#size) this.#endFrame();
    }
  }

  finish(): ToneResult {
    // Twice at most: what is fresh now is the old half of one more frame.
    this.#soundEnd = this.#filled;
    while (this.#fresh > 0 || this.#hasOld) {
      for (let c = 0; c < this.#feed.pointers.length; c++) this.#frame(c).fill(0, this.#filled);
      this.#endFrame();
      this.#soundEnd -= this.#size / 2;
    }
    return toneOf(oneSided(this.#total), this.#rate / this.#size, thirdOctaves(this.#rate));
  }

  #frame(channel: number): Float32Array {
    return floats(this.#kernels, this.#frames[channel], this.#size);
  }

  #endFrame(): void {
    for (let c = 0; c < this.#frames.length; c += 2) {
      this.#spectrum.add(this.#frames[c], this.#frames[c + 1]);
      if (c === 0 && this.#feed.pointers.length > 1)
        for (const taker of this.#takers) taker.takePair?.(this.#spectrum);
    }
    const power = this.#spectrum.raw();
    for (let k = 0; k < power.length; k++) this.#total[k] += power[k];
    const weight = windowShare(this.#soundEnd / this.#size) - (this.#hasOld ? 0 : windowShare(0.5));
    for (const taker of this.#takers) taker.take(power, weight);
    this.#spectrum.clear();
    for (let c = 0; c < this.#feed.pointers.length; c++) this.#frame(c).copyWithin(0, this.#size / 2);
    this.#hasOld = this.#fresh > 0;
    this.#fresh = 0;
    this.#filled = this.#size / 2;
  }
}

/** Share of the energy of a sine window that lies in its first part, as a share of its length. */
function windowShare(part: number): number {
  return part - Math.sin(2 * Math.PI * part) / (2 * Math.PI);
}

/** Power between two frequencies; a bin reaches half a bin to either side of its centre and is shared out by overlap. */
function powerBetween(power: Float64Array, binHz: number, lowHz: number, highHz: number): number {
  const low = lowHz / binHz + 0.5;
  const high = Math.min(highHz / binHz + 0.5, power.length);
  let sum = 0;
  for (let k = Math.floor(low); k < high; k++) {
    const share = Math.min(k + 1, high) - Math.max(k, low);
    sum += power[k] * share;
  }
  return sum;
}

function toneOf(power: Float64Array, binHz: number, bands: readonly Band[]): ToneResult {
  const bandPowers = bands.map(({ lowHz, highHz }) => powerBetween(power, binHz, lowHz, highHz));
  const all = bandPowers.reduce((sum, value) => sum + value, 0);
  const relativeDb = (value: number) => (value > 0 && all > 0 ? powerToDb(value / all) : null);
  const levelsDb = bandPowers.map(relativeDb);
  const bottomHz = bands[0]?.lowHz ?? 0;
  return {
    centresHz: bands.map(({ nominalHz }) => nominalHz),
    levelsDb,
    tiltDbPerOctave: tiltDbPerOctave(bands, levelsDb),
    lowDb: relativeDb(powerBetween(power, binHz, bottomHz, shares.lowTopHz)),
    midDb: relativeDb(powerBetween(power, binHz, shares.lowTopHz, shares.midTopHz)),
    highDb: relativeDb(powerBetween(power, binHz, shares.midTopHz, shares.highTopHz)),
  };
}

/**
 * Least-squares slope of level over octaves from 100 Hz to 10 kHz; null when fewer than two bands hold anything.
 * @param levelsDb one a band, null where it is empty
 */
export function tiltDbPerOctave(bands: readonly Band[], levelsDb: readonly (number | null)[]): number | null {
  const points = bands.flatMap(({ nominalHz, lowHz, highHz }, i) => {
    const level = levelsDb[i];
    const inSpan = nominalHz >= tilt.fromHz && nominalHz <= tilt.toHz;
    return inSpan && level !== null ? [{ octaves: Math.log2(Math.sqrt(lowHz * highHz)), level }] : [];
  });
  if (points.length < 2) return null;
  const mean = (pick: (point: (typeof points)[number]) => number) =>
    points.reduce((sum, point) => sum + pick(point), 0) / points.length;
  const meanOctaves = mean(({ octaves }) => octaves);
  const meanLevel = mean(({ level }) => level);
  return (
    mean(({ octaves, level }) => (octaves - meanOctaves) * (level - meanLevel)) /
    mean(({ octaves }) => (octaves - meanOctaves) ** 2)
  );
}
