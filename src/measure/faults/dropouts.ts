import { amplitudeToDb } from '../../signal/decibels.ts';
import type { Span } from '../span.ts';

/** A hole in one channel: the sound breaks off into zeros and comes back. */
export interface Dropout extends Span {
  readonly channel: number;
  /** Level of the sound that breaks off or comes back, the lower of the two, dBFS (highest sample within some milliseconds). */
  readonly edgeDbfs: number;
}

export interface DropoutResult {
  readonly count: number;
  /** The longest of them, in order of time, at most 200. */
  readonly dropouts: readonly Dropout[];
}

// Heuristics; test/conformance/faults-dropouts.test.ts says what they miss and what they mistake.
/** Longest hole that still counts as a dropout; longer ones are silence inside the song. */
const longestSeconds = 1;
/** Quietest sound that can drop out, -50 dBFS. */
const quietest = 10 ** (-50 / 20);
/** Last samples before a hole, at 48 kHz: were the sound faded, they would be far below what was before them. */
const brinkFrames = 8;
/** How high those samples must stand, against the milliseconds before. */
const abrupt = 0.2;
/** Fewest steps of the sample grid by which an edge must stand out: in coarse files small sounds are zeros now and then. */
const leastSteps = 8;
/** Cells to either side in which the level is read, at 48 kHz. */
const levelCells = 3;
const told = 200;

interface Hole {
  readonly channel: number;
  readonly startFrame: number;
  readonly endFrame: number;
  readonly edge: number;
}

/** The hole that a channel is in, or that ended in its last cell. */
interface Open {
  readonly startFrame: number;
  readonly before: number;
  readonly isCut: boolean;
  endFrame: number;
  after: number;
  cellsAfter: number;
}

/**
 * Finds runs of zeros (of at least one whole cell of 64 samples, so that a run of 127 is never missed) that begin at
 * the height of the sound. Faded ends, pauses between notes and the wide zeros of quiet coarse files are no dropouts.
 */
export class DropoutFinder {
  readonly #rate: number;
  readonly #cellFrames: number;
  readonly #levelCells: number;
  readonly #brink: number;
  /** Peaks of the last cells of each channel. */
  readonly #recent: readonly Float32Array[];
  readonly #open: (Open | null)[];
  #holes: Hole[] = [];
  #tally = new Map<number, number>();

  constructor(sampleRate: number, channels: number, cellFrames: number) {
    const scale = Math.max(1, sampleRate / 48000);
    this.#rate = sampleRate;
    this.#cellFrames = cellFrames;
    this.#levelCells = Math.ceil(levelCells * scale);
    this.#brink = Math.min(cellFrames, Math.round(brinkFrames * scale));
    this.#recent = Array.from({ length: channels }, () => new Float32Array(this.#levelCells));
    this.#open = new Array<Open | null>(channels).fill(null);
  }

  /**
   * The next cell of a channel.
   * @param peak its highest |sample|
   * @param frame number of its first sample
   * @param samples where `needsSamples`: the channel from two cells before to the end of the cell; zeros before the start of the sound
   */
  add(channel: number, peak: number, frame: number, samples: Float32Array): void {
    const open = this.#open[channel];
    if (peak === 0) {
      if (open === null || open.cellsAfter > 0) {
        if (open) this.#close(channel, open);
        this.#open[channel] = this.#begin(channel, frame, samples);
      }
    } else if (open) {
      if (open.cellsAfter === 0) open.endFrame = frame + leadingZeros(samples.subarray(2 * this.#cellFrames));
      open.after = Math.max(open.after, peak);
      open.cellsAfter++;
      if (open.cellsAfter >= this.#levelCells) this.#close(channel, open);
    }
    const recent = this.#recent[channel];
    for (let i = 1; i < recent.length; i++) recent[i - 1] = recent[i];
    recent[recent.length - 1] = peak;
  }

  /** Whether `add` will look at the samples of a cell of this height. */
  needsSamples(channel: number, peak: number): boolean {
    return peak === 0 || this.#open[channel] !== null;
  }

  /** @param bits how fine the samples are; null when finer than 24 bits */
  finish(bits: number | null): DropoutResult {
    this.#open.forEach((open, channel) => {
      if (open && open.cellsAfter > 0) this.#close(channel, open);
    });
    const least = leastSteps * 2 ** (1 - (bits ?? 24));
    let count = 0;
    for (const [octave, holes] of this.#tally) if (2 ** octave >= least) count += holes;
    const dropouts = longest(this.#holes.filter(({ edge }) => 2 ** octaveOf(edge) >= least))
      .sort((a, b) => a.startFrame - b.startFrame || a.channel - b.channel)
      .map(({ channel, startFrame, endFrame, edge }) => ({
        startSeconds: startFrame / this.#rate,
        endSeconds: endFrame / this.#rate,
        channel,
        edgeDbfs: amplitudeToDb(edge),
      }));
    return { count, dropouts };
  }

  #begin(channel: number, frame: number, samples: Float32Array): Open {
    const cell = this.#cellFrames;
    let end = 2 * cell;
    while (end > cell && samples[end - 1] === 0) end--;
    let brink = 0;
    for (let i = end - this.#brink; i < end; i++) brink = Math.max(brink, Math.abs(samples[i]));
    const before = Math.max(...this.#recent[channel]);
    return {
      startFrame: frame - (2 * cell - end),
      before,
      isCut: before > 0 && brink >= abrupt * before,
      endFrame: 0,
      after: 0,
      cellsAfter: 0,
    };
  }

  #close(channel: number, open: Open): void {
    this.#open[channel] = null;
    const edge = Math.min(open.before, open.after);
    const seconds = (open.endFrame - open.startFrame) / this.#rate;
    if (!open.isCut || edge < quietest || seconds > longestSeconds || open.after < 0.1 * open.before) return;
    this.#tally.set(octaveOf(edge), (this.#tally.get(octaveOf(edge)) ?? 0) + 1);
    this.#holes.push({ channel, startFrame: open.startFrame, endFrame: open.endFrame, edge });
    if (this.#holes.length >= 20 * told) this.#holes = longest(this.#holes);
  }
}

function leadingZeros(samples: Float32Array): number {
  const first = samples.findIndex((x) => x !== 0);
  return first < 0 ? samples.length : first;
}

function octaveOf(level: number): number {
  return Math.floor(Math.log2(level));
}

function longest(holes: readonly Hole[]): Hole[] {
  return [...holes]
    .sort((a, b) => b.endFrame - b.startFrame - (a.endFrame - a.startFrame) || a.startFrame - b.startFrame)
    .slice(0, told);
}
