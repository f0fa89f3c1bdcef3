import type { Span } from './measurement.ts';

/** Fewest equal samples in a row that count as a clipped run. */
const shortestRun = 3;
/** How far below the ceiling a run may lie: 0.1 dB. */
const margin = 10 ** (-0.1 / 20);
/** A file whose own peak is above this (-1 dBFS) may have been clipped at that peak. */
const ownCeilingFrom = 10 ** (-1 / 20);
/** Nothing below this can ever count: -1.1 dBFS. */
export const lowestClipLevel = ownCeilingFrom * margin;
const told = 200;

interface Run extends Span {
  readonly samples: number;
  readonly level: number;
}

/** Width of a bin of the tally of runs by level; far finer than the margin. */
const binsPerDb = 1000;

/**
 * Finds runs of 3 or more equal samples at a ceiling (a heuristic for clipping): within 0.1 dB of full scale or
 * above, or within 0.1 dB of the file's own peak when that is above -1 dBFS. The peak is known only at the end,
 * so runs from -1.1 dBFS up are tallied by level (to 0.001 dB) and sorted out then.
 */
export class ClippedRunFinder {
  readonly #rate: number;
  /** The unfinished run of each channel. */
  readonly #value: Float64Array;
  readonly #length: Float64Array;
  readonly #end: Float64Array;
  /** Runs below the full-scale ceiling, by level bin. */
  readonly #tally = new Map<number, number>();
  #certain = 0;
  #peak = 0;
  #kept: Run[] = [];

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#value = new Float64Array(channels);
    this.#length = new Float64Array(channels);
    this.#end = new Float64Array(channels);
  }

  /**
   * Looks at samples that may reach a ceiling; stretches below `lowestClipLevel` need not be shown.
   * @param samples of one channel, in order of time
   * @param frame number of the first of them
   */
  look(channel: number, samples: Float32Array, frame: number): void {
    if (this.#end[channel] !== frame) this.#close(channel);
    let value = this.#value[channel];
    let length = this.#length[channel];
    for (let i = 0; i < samples.length; i++) {
      const x = samples[i];
      if (x === value) {
        length++;
        continue;
      }
      if (length >= shortestRun) this.#add(value, length, frame + i);
      value = x;
      length = 1;
    }
    this.#value[channel] = value;
    this.#length[channel] = length;
    this.#end[channel] = frame + samples.length;
  }

  /** @param peak highest |sample| of the whole sound */
  finish(peak: number): { clippedRunCount: number; clippedRuns: Span[] } {
    for (let c = 0; c < this.#value.length; c++) this.#close(c);
    this.#peak = Math.max(this.#peak, peak);
    let count = this.#certain;
    const ceiling = this.#ownCeiling();
    for (const [bin, runs] of this.#tally) if (bin >= levelBin(ceiling)) count += runs;
    this.#keepLongest();
    const spans = this.#kept
      .map(({ startSeconds, endSeconds }) => ({ startSeconds, endSeconds }))
      .sort((a, b) => a.startSeconds - b.startSeconds || a.endSeconds - b.endSeconds);
    return { clippedRunCount: count, clippedRuns: spans };
  }

  #ownCeiling(): number {
    return this.#peak > ownCeilingFrom ? this.#peak * margin : Number.POSITIVE_INFINITY;
  }

  #close(channel: number): void {
    if (this.#length[channel] >= shortestRun)
      this.#add(this.#value[channel], this.#length[channel], this.#end[channel]);
    this.#length[channel] = 0;
  }

  #add(value: number, samples: number, endFrame: number): void {
    const level = Math.abs(value);
    if (level < lowestClipLevel) return;
    this.#peak = Math.max(this.#peak, level);
    if (level >= margin) this.#certain++;
    else this.#tally.set(levelBin(level), (this.#tally.get(levelBin(level)) ?? 0) + 1);
    this.#kept.push({
      startSeconds: (endFrame - samples) / this.#rate,
      endSeconds: endFrame / this.#rate,
      samples,
      level,
    });
    if (this.#kept.length >= 20 * told) this.#keepLongest();
  }

  /** Drops what the peak known so far already rules out, then all but the longest. */
  #keepLongest(): void {
    const ceiling = this.#ownCeiling();
    this.#kept = this.#kept
      .filter(({ level }) => level >= margin || levelBin(level) >= levelBin(ceiling))
      .sort((a, b) => b.samples - a.samples || a.startSeconds - b.startSeconds)
      .slice(0, told);
  }
}

function levelBin(level: number): number {
  return Math.floor(20 * Math.log10(level) * binsPerDb);
}
