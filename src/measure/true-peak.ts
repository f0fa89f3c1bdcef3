import type { Pcm } from '../audio/pcm.ts';
import { amplitudeToDb } from '../signal/decibels.ts';
import { floats, instantiateKernels, integers, type Kernels } from '../signal/kernels.ts';
import { truePeakTables, truePeakTaps } from '../signal/true-peak-tables.ts';
import type { Over } from './measurement.ts';
import { OverCollector } from './overs.ts';
import { chunkFrames, SoundFeed } from './sound-feed.ts';

/** 0 dBTP plus 0.001 dB for rounding: a waveform clipped exactly at full scale is not over it. */
const overLimit = 10 ** (0.001 / 20);

/** Intervals that the kernel judges together. The same in kernels/true-peak.ts. */
const blockFrames = 32;
/** The search runs this many intervals late, because the filters look ahead. */
const lagFrames = 64;

export interface TruePeakReading {
  /** Highest level of the waveform between samples, dBTP; null for digital silence. */
  readonly truePeakDbtp: number | null;
  /** Number of stretches above 0 dBTP, all channels. */
  readonly overCount: number;
  /** The highest of them, at most 200, in order of time. */
  readonly overs: Over[];
}

/** The true-peak part of measuring: reads the chunks of a feed. */
export class TruePeakSearch {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #tables: number;
  readonly #overs: number;
  readonly #overCount: number;
  readonly #collector: OverCollector;
  #peak = 0;
  #chunkStart = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#kernels = kernels;
    this.#feed = feed;
    const tables = truePeakTables();
    this.#tables = kernels.allocate(tables.byteLength);
    this.#overs = kernels.allocate((chunkFrames + 2 * lagFrames) * 8);
    this.#overCount = kernels.allocate(4);
    floats(kernels, this.#tables, tables.length).set(tables);
    this.#collector = new OverCollector(sampleRate, feed.pointers.length);
  }

  take(frames: number, last: boolean): void {
    // After the end the waveform still rings for half a filter.
    const intervals = last ? lagFrames + frames + truePeakTaps / 2 : frames;
    this.#feed.pointers.forEach((pointer, channel) => {
      this.#peak = this.#kernels.scanTruePeak(
        pointer - lagFrames * 4,
        Math.ceil(intervals / blockFrames),
        this.#peak,
        overLimit,
        this.#tables,
        this.#overs,
        this.#overCount,
      );
      const count = integers(this.#kernels, this.#overCount, 1)[0];
      const where = integers(this.#kernels, this.#overs, 2 * count);
      const height = floats(this.#kernels, this.#overs, 2 * count);
      for (let i = 0; i < count; i++)
        this.#collector.add(channel, this.#chunkStart - lagFrames + where[2 * i], height[2 * i + 1]);
    });
    this.#chunkStart += frames;
  }

  finish(): TruePeakReading {
    return {
      truePeakDbtp: this.#peak > 0 ? amplitudeToDb(this.#peak) : null,
      ...this.#collector.finish(this.#chunkStart),
    };
  }
}

/**
 * True peak and overs of a sound that comes in blocks of any size (ITU-R BS.1770-5 Annex 2, on a finer grid:
 * 16x with 48 samples a value). Error: at most 0.05 dB low for anything below 0.45 of the sample rate; see
 * src/signal/true-peak-tables.ts.
 */
export class TruePeakMeter {
  readonly #feed: SoundFeed;
  readonly #search: TruePeakSearch;

  constructor(sampleRate: number, channels: number) {
    const kernels = instantiateKernels();
    this.#feed = new SoundFeed(kernels, { sampleRate, channels });
    this.#search = new TruePeakSearch(kernels, this.#feed, sampleRate);
  }

  /** Throws RangeError when the block's rate or channel count is not the meter's. */
  push(block: Pcm): void {
    this.#feed.push(block, (frames, last) => this.#search.take(frames, last));
  }

  /** Ends the sound; call once, push nothing after. */
  finish(): TruePeakReading {
    this.#feed.finish((frames, last) => this.#search.take(frames, last));
    return this.#search.finish();
  }
}
