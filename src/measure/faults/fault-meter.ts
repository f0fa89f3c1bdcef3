import { doubles, floats, integers, type Kernels, levelCellFrames } from '../../signal/kernels.ts';
import { chunkFrames, type SoundFeed } from '../sound-feed.ts';
import { BandSpectrum } from './band-spectrum.ts';
import { BandwidthMeter, type BandwidthResult } from './bandwidth.ts';
import { CeilingMeter } from './ceiling.ts';
import { ClickFinder, type ClickResult } from './clicks.ts';
import { DcOffset, type DcResult } from './dc-offset.ts';
import { DropoutFinder, type DropoutResult } from './dropouts.ts';
import { EndsMeter, type EndsResult } from './ends.ts';
import { HumFinder, type HumResult } from './hum.ts';
import { LowSpectrum } from './low-spectrum.ts';
import { NoiseFloorMeter, type NoiseResult } from './noise-floor.ts';
import { type GridResult, SampleGrid } from './sample-grid.ts';
import { SubsonicMeter, type SubsonicResult, subsonicOf } from './subsonic.ts';

/** What can be wrong with a sound besides its levels and its tone. Each member is explained in its own file. */
export interface FaultResult {
  readonly dc: DcResult;
  readonly clicks: ClickResult;
  readonly dropouts: DropoutResult;
  readonly ends: EndsResult;
  readonly hum: HumResult;
  readonly noise: NoiseResult;
  readonly subsonic: SubsonicResult;
  readonly grid: GridResult;
  readonly bandwidth: BandwidthResult;
}

const cellsPerChunk = chunkFrames / levelCellFrames;

type SampleFaults = ReturnType<SampleFaultMeter['finish']>;
type SpectrumFaults = ReturnType<SpectrumFaultMeter['finish']>;

/** Puts together what the two halves found in the same sound. */
export function joinFaults(samples: SampleFaults, spectra: SpectrumFaults): FaultResult {
  const { dc, clicks, dropouts, ends, grid } = samples;
  const { hum, noise, bandwidth } = spectra;
  const subsonic = subsonicOf(spectra.subsonicPower, samples.meanSquare);
  return { dc, clicks, dropouts, ends, hum, noise, subsonic, grid, bandwidth };
}

/** Faults that are read off the samples, all from one look at them. */
export class SampleFaultMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #peaks: number;
  readonly #bends: number;
  readonly #bendSums: number;
  readonly #totals: number;
  readonly #dc: DcOffset;
  readonly #clicks: ClickFinder;
  readonly #dropouts: DropoutFinder;
  readonly #ends: EndsMeter;
  readonly #sampleGrid: SampleGrid;
  readonly #ceiling: CeilingMeter;
  /** Highest |sample| of each cell of the chunk, over the channels. */
  readonly #chunkPeaks = new Float32Array(cellsPerChunk);
  #frames = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    const channels = feed.pointers.length;
    this.#kernels = kernels;
    this.#feed = feed;
    this.#peaks = kernels.allocate(cellsPerChunk * 4);
    this.#bends = kernels.allocate(cellsPerChunk * 4);
    this.#bendSums = kernels.allocate(cellsPerChunk * 4);
    this.#totals = kernels.allocate(16);
    this.#dc = new DcOffset(channels);
    this.#clicks = new ClickFinder(sampleRate, channels, levelCellFrames);
    this.#dropouts = new DropoutFinder(sampleRate, channels, levelCellFrames);
    this.#ends = new EndsMeter(sampleRate, levelCellFrames);
    this.#sampleGrid = new SampleGrid(sampleRate);
    this.#ceiling = new CeilingMeter(sampleRate, levelCellFrames);
  }

  take(frames: number): void {
    if (this.#frames === 0 && frames > 0)
      this.#ends.start(Math.max(...this.#feed.pointers.map((_, c) => Math.abs(this.#feed.chunk(c)[0]))));
    this.#chunkPeaks.fill(0);
    for (let channel = 0; channel < this.#feed.pointers.length; channel++) this.#takeChannel(channel, frames);
    for (
      let cell = 0, start = this.#frames;
      start < this.#frames + frames;
      cell++, start += levelCellFrames
    ) {
      const end = Math.min(start + levelCellFrames, this.#frames + frames);
      this.#ends.add(this.#chunkPeaks[cell], start, end);
      this.#ceiling.add(this.#chunkPeaks[cell]);
    }
    this.#frames += frames;
  }

  finish() {
    const grid = this.#sampleGrid.finish(this.#feed.pointers.length);
    const dropouts = this.#dropouts.finish(grid.bits);
    const dc = this.#dc.finish(this.#frames);
    const meanSquare = doubles(this.#kernels, this.#totals + 8, 1)[0] / Math.max(1, this.#frames);
    return {
      dc,
      clicks: this.#clicks.finish(dropouts.dropouts),
      dropouts,
      ends: this.#ends.finish(this.#frames),
      grid,
      /** Without DC, all channels added. */
      meanSquare: meanSquare - dc.offsets.reduce((sum, offset) => sum + offset ** 2, 0),
      ceiling: this.#ceiling.finish(),
    };
  }

  #takeChannel(channel: number, frames: number): void {
    const pointer = this.#feed.pointers[channel];
    const grid = integers(this.#kernels, this.#totals, 2);
    grid.fill(0);
    const sum = this.#kernels.scanFaults(
      pointer,
      frames,
      this.#peaks,
      this.#bends,
      this.#bendSums,
      this.#totals,
    );
    this.#dc.add(channel, sum);
    this.#sampleGrid.addPart(grid[0], grid[1] !== 0);
    const cells = Math.ceil(frames / levelCellFrames);
    const peaks = floats(this.#kernels, this.#peaks, cells);
    const bends = floats(this.#kernels, this.#bends, cells);
    const bendSums = floats(this.#kernels, this.#bendSums, cells);
    const chunk = this.#feed.chunk(channel);
    for (let cell = 0; cell < cells; cell++) {
      const peak = peaks[cell];
      const at = cell * levelCellFrames;
      if (peak > this.#chunkPeaks[cell]) this.#chunkPeaks[cell] = peak;
      if (peak > 0 && peak < 0.001)
        this.#sampleGrid.lookAtCell(chunk.subarray(at, Math.min(at + levelCellFrames, frames)), peak);
      this.#clicks.add(channel, peak, bends[cell], bendSums[cell]);
      this.#dropouts.add(
        channel,
        peak,
        this.#frames + at,
        this.#dropouts.needsSamples(channel, peak)
          ? floats(this.#kernels, pointer + 4 * (at - 2 * levelCellFrames), 3 * levelCellFrames)
          : chunk,
      );
    }
  }
}

/** Faults that are read off spectra: a coarse and a fine one feed them all. */
export class SpectrumFaultMeter {
  readonly #bands: BandSpectrum;
  readonly #low: LowSpectrum;
  readonly #hum: HumFinder;
  readonly #noise: NoiseFloorMeter;
  readonly #subsonic: SubsonicMeter;
  readonly #bandwidth: BandwidthMeter;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#bands = new BandSpectrum(kernels, feed, sampleRate, (bands) => {
      this.#noise.take(bands);
      this.#bandwidth.take(bands);
    });
    this.#noise = new NoiseFloorMeter(this.#bands.bandCount, this.#bands.bandHz, this.#bands.stepSeconds);
    this.#bandwidth = new BandwidthMeter(sampleRate, this.#bands.bandCount, this.#bands.bandHz);
    this.#low = new LowSpectrum(kernels, feed, sampleRate, (power) => {
      this.#hum.take(power);
      this.#subsonic.take(power);
    });
    this.#hum = new HumFinder(this.#low.binHz);
    this.#subsonic = new SubsonicMeter(this.#low.binHz);
  }

  take(frames: number): void {
    this.#bands.take(frames);
    this.#low.take(frames);
  }

  finish() {
    return {
      hum: this.#hum.finish(),
      noise: this.#noise.finish(),
      /** Mean power from 2 to 20 Hz; 0 where nothing could be looked at. */
      subsonicPower: this.#subsonic.finish(),
      bandwidth: this.#bandwidth.finish(),
    };
  }
}
