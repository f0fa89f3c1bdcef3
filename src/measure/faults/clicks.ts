import { amplitudeToDb } from '../../signal/decibels.ts';
import type { Span } from '../span.ts';

/** A jump or a spike of a few samples. */
export interface Click extends Span {
  readonly channel: number;
  /** Height of a single wrong sample that would bend the waveform as much, dBFS; a step reads 3.5 dB below its height (computed). */
  readonly sizeDbfs: number;
}

export interface ClickResult {
  readonly count: number;
  /** The largest of them, in order of time, at most 200. */
  readonly clicks: readonly Click[];
}

/** Grain in which clicks are looked for: about as long as 64 samples at 48 kHz. */
const grainSeconds = 64 / 48000;
/** What surrounds a click and must be smoother than it: to either side, seconds. Shorter than a period of 25 Hz on both
 * sides together, so that a wave with edges is never mistaken for a row of clicks. */
const aroundSeconds = 0.06;

// Heuristics, set on synthetic music (test/conformance/faults-clicks.test.ts says what they miss and what they mistake).
/** How many times the bend of a click surpasses what is near it: 12 dB. */
const ratio = 4;
/** Grains to either side over which a click must stand out, 8 ms. */
const nearGrains = 6;
/** Outliers as narrow as the click that its wider surroundings may hold: a hole makes two clicks, an edge of a wave comes
 * again and again. */
const others = 1;
/** Sum of bends over the largest bend, in samples at 48 kHz: 2.7 for a spike, 2 for a step, dozens for the start of a drum. */
const widest = 14;
/** Rise of level over which it counts as the start of a note. */
const onset = 1.5;
/** Smallest bend, that of a spike of -54 dBFS. */
const smallest = 0.006;
/** Smallest bend against the peak it stands on and the mean peaks around it: a spike 33 dB under the highest of these. The corner that runs along a plucked
 * string bends the waveform as much at the first turn of a note. */
const smallestOfLevel = 0.07;

const told = 200;

/** One channel's recent past, in grains. */
interface Past {
  readonly bends: Float32Array;
  readonly peaks: Float32Array;
  readonly widths: Float32Array;
}

/**
 * Finds clicks by their third difference: one that surpasses everything near it by far, lasts a few samples, has nothing
 * like it around and is not followed by a higher level. Drums and plucks go on sounding, edges of synthetic waves come
 * again, clipped tops hardly bend. A click that the music covers is not found.
 */
export class ClickFinder {
  readonly #rate: number;
  readonly #cellFrames: number;
  readonly #cells: number;
  readonly #around: number;
  readonly #length: number;
  readonly #past: readonly Past[];
  /** Cells gathered into the grain that is being filled, and grains finished, of each channel. */
  readonly #filled: Uint8Array;
  readonly #grains: Float64Array;
  #count = 0;
  #kept: Click[] = [];

  constructor(sampleRate: number, channels: number, cellFrames: number) {
    this.#rate = sampleRate;
    this.#cellFrames = cellFrames;
    this.#cells = Math.min(
      64,
      Math.max(1, 2 ** Math.round(Math.log2((grainSeconds * sampleRate) / cellFrames))),
    );
    this.#around = Math.max(4, Math.round((aroundSeconds * sampleRate) / (cellFrames * this.#cells)));
    this.#length = 2 * this.#around + 1;
    this.#past = Array.from({ length: channels }, () => ({
      bends: new Float32Array(this.#length),
      peaks: new Float32Array(this.#length),
      widths: new Float32Array(this.#length),
    }));
    this.#filled = new Uint8Array(channels);
    this.#grains = new Float64Array(channels);
  }

  /** The next cell of a channel: highest |sample|, largest bend, sum of bends. */
  add(channel: number, peak: number, bend: number, bendSum: number): void {
    const { bends, peaks, widths } = this.#past[channel];
    const at = this.#grains[channel] % this.#length;
    if (this.#filled[channel] === 0) {
      bends[at] = 0;
      peaks[at] = 0;
      widths[at] = 0;
    }
    if (bend > bends[at]) bends[at] = bend;
    if (peak > peaks[at]) peaks[at] = peak;
    widths[at] += bendSum;
    if (++this.#filled[channel] < this.#cells) return;
    this.#filled[channel] = 0;
    this.#grains[channel]++;
    this.#judge(channel, this.#grains[channel] - 1 - this.#around);
  }

  /** @param cuts places already told as something else (dropouts); clicks at their ends are left out */
  finish(cuts: readonly Span[]): ClickResult {
    // What surrounds the last clicks is the silence after the end.
    for (let channel = 0; channel < this.#past.length; channel++)
      for (let i = 0; i < this.#around * this.#cells; i++) this.add(channel, 0, 0, 0);
    const slack = 4 * grainSeconds;
    const clicks = this.#kept.filter(
      ({ startSeconds, endSeconds }) =>
        !cuts.some(
          (cut) =>
            (startSeconds < cut.startSeconds + slack && endSeconds > cut.startSeconds - slack) ||
            (startSeconds < cut.endSeconds + slack && endSeconds > cut.endSeconds - slack),
        ),
    );
    const count = this.#count - (this.#kept.length - clicks.length);
    return { count, clicks: largest(clicks).sort((a, b) => a.startSeconds - b.startSeconds) };
  }

  #judge(channel: number, grain: number): void {
    if (grain < 0) return;
    const { bends, peaks, widths } = this.#past[channel];
    const length = this.#length;
    const here = grain % length;
    const bend = bends[here];
    if (bend < smallest) return;
    // What a click is not is mostly settled here, for every grain of the sound.
    const next = here + 1 < length ? here + 1 : 0;
    const last = here > 0 ? here - 1 : length - 1;
    if (bends[last] >= bend || bends[next] > bend) return;
    const limit = bend / ratio;
    if (bends[next + 1 < length ? next + 1 : 0] > limit || bends[last > 0 ? last - 1 : length - 1] > limit)
      return;
    const near = Math.min(nearGrains, this.#around);
    const wrap = (offset: number) => (here + offset + length) % length;
    // A click whose doublet straddles two grains has its width shared out between them.
    if (widths[here] > widest * this.#cells * bend) return;
    for (let offset = 2; offset <= near; offset++)
      if (bends[wrap(-offset)] > limit || bends[wrap(offset)] > limit) return;
    let edges = 0;
    for (let offset = near + 1; offset <= this.#around; offset++)
      for (const other of [wrap(-offset), wrap(offset)])
        if (bends[other] > limit && widths[other] <= widest * this.#cells * bends[other]) edges++;
    if (edges > others) return;
    const level = (from: number, to: number) => {
      let sum = 0;
      for (let offset = from; offset <= to; offset++) sum += peaks[wrap(offset)];
      return sum / (to - from + 1);
    };
    const reach = Math.min(8, this.#around);
    const [before, after] = [level(-reach, -2), level(2, reach)];
    if (after > onset * before || bend < smallestOfLevel * Math.max(before, after, peaks[here])) return;
    this.#tell(channel, grain, bend);
  }

  #tell(channel: number, grain: number, bend: number): void {
    this.#count++;
    const seconds = (this.#cells * this.#cellFrames) / this.#rate;
    this.#kept.push({
      startSeconds: grain * seconds,
      endSeconds: (grain + 1) * seconds,
      channel,
      sizeDbfs: amplitudeToDb(bend / 3),
    });
    if (this.#kept.length >= 20 * told) this.#kept = largest(this.#kept);
  }
}

function largest(clicks: readonly Click[]): Click[] {
  return [...clicks]
    .sort((a, b) => b.sizeDbfs - a.sizeDbfs || a.startSeconds - b.startSeconds)
    .slice(0, told);
}
