import { CodedError } from '../audio/coded-error.ts';
import { amplitudeToDb, powerToDb } from '../signal/decibels.ts';
import { floats, type Kernels, levelCellFrames } from '../signal/kernels.ts';
import { ClippedRunFinder, lowestClipLevel } from './clipped-runs.ts';
import type { Span, Traces } from './measurement.ts';
import { chunkFrames, type SoundFeed } from './sound-feed.ts';
import { WaveformOverview } from './waveform.ts';

export interface LevelReading {
  readonly samplePeakDbfs: number | null;
  readonly crestDb: number | null;
  readonly clippedRunCount: number;
  readonly clippedRuns: Span[];
  readonly waveform: Traces['waveform'];
  /** Highest |sample| of each channel. */
  readonly channelPeaks: readonly number[];
}

/** Gets the cells of each chunk of each channel, channels in turn. */
export interface CellTaker {
  /**
   * @param frames of the chunk
   * @param lows, highs of cells of `levelCellFrames`, the last one maybe shorter; only good during the call
   */
  takeCells(channel: number, frames: number, lows: Float32Array, highs: Float32Array): void;
}

const cellsPerChunk = chunkFrames / levelCellFrames;

/** Everything that is read off the samples as they stand: peak, crest, clipped runs, waveform overview. */
export class SampleLevelMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #lows: number;
  readonly #highs: number;
  readonly #chunkLow = new Float32Array(cellsPerChunk);
  readonly #chunkHigh = new Float32Array(cellsPerChunk);
  readonly #peaks: Float64Array;
  readonly #energies: Float64Array;
  readonly #clipped: ClippedRunFinder;
  readonly #overview: WaveformOverview;
  readonly #takers: readonly CellTaker[];
  #frames = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, takers: readonly CellTaker[] = []) {
    this.#takers = takers;
    const channels = feed.pointers.length;
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#lows = kernels.allocate(cellsPerChunk * 4);
    this.#highs = kernels.allocate(cellsPerChunk * 4);
    this.#peaks = new Float64Array(channels);
    this.#energies = new Float64Array(channels);
    this.#clipped = new ClippedRunFinder(sampleRate, channels);
    this.#overview = new WaveformOverview(sampleRate, levelCellFrames);
  }

  /** Throws CodedError SOUND_NOT_NUMBERS when a sample is NaN or infinite. */
  take(frames: number): void {
    const cells = Math.ceil(frames / levelCellFrames);
    const lows = floats(this.#kernels, this.#lows, cells);
    const highs = floats(this.#kernels, this.#highs, cells);
    this.#chunkLow.fill(Number.POSITIVE_INFINITY);
    this.#chunkHigh.fill(Number.NEGATIVE_INFINITY);
    this.#feed.pointers.forEach((pointer, channel) => {
      const energy = this.#kernels.scanLevels(pointer, frames, this.#lows, this.#highs);
      if (!Number.isFinite(energy)) throw this.#notNumbers(channel);
      this.#energies[channel] += energy;
      this.#takeCells(channel, frames, lows, highs);
      for (const taker of this.#takers) taker.takeCells(channel, frames, lows, highs);
    });
    for (let cell = 0; cell < cells; cell++) this.#overview.add(this.#chunkLow[cell], this.#chunkHigh[cell]);
    this.#frames += frames;
  }

  finish(): LevelReading {
    const peak = this.#peaks.reduce((highest, value) => Math.max(highest, value), 0);
    return {
      samplePeakDbfs: peak > 0 ? amplitudeToDb(peak) : null,
      crestDb: this.#crestDb(),
      ...this.#clipped.finish(peak),
      waveform: this.#overview.finish(),
      channelPeaks: [...this.#peaks],
    };
  }

  #takeCells(channel: number, frames: number, lows: Float32Array, highs: Float32Array): void {
    const samples = this.#feed.chunk(channel);
    let peak = this.#peaks[channel];
    for (let cell = 0; cell < lows.length; cell++) {
      const low = lows[cell];
      const high = highs[cell];
      if (low < this.#chunkLow[cell]) this.#chunkLow[cell] = low;
      if (high > this.#chunkHigh[cell]) this.#chunkHigh[cell] = high;
      const cellPeak = Math.max(-low, high);
      if (cellPeak > peak) peak = cellPeak;
      if (cellPeak >= lowestClipLevel) {
        const start = cell * levelCellFrames;
        const end = Math.min(start + levelCellFrames, frames);
        this.#clipped.look(channel, samples.subarray(start, end), this.#frames + start);
      }
    }
    this.#peaks[channel] = peak;
  }

  /** Of the channel with the most power, the first if several. */
  #crestDb(): number | null {
    let loudest = 0;
    this.#energies.forEach((energy, channel) => {
      if (energy > this.#energies[loudest]) loudest = channel;
    });
    const energy = this.#energies[loudest];
    return energy > 0 ? amplitudeToDb(this.#peaks[loudest]) - powerToDb(energy / this.#frames) : null;
  }

  #notNumbers(channel: number): CodedError {
    const samples = this.#feed.chunk(channel);
    const seconds =
      (this.#frames +
        Math.max(
          0,
          samples.findIndex((x) => !Number.isFinite(x)),
        )) /
      this.#rate;
    return new CodedError(
      'SOUND_NOT_NUMBERS',
      `The sound holds samples that are not finite numbers, first at ${seconds.toFixed(3)} s in channel ${channel + 1}; bounce it again.`,
    );
  }
}
