import type { Pcm } from '../audio/pcm.ts';
import { frameCount } from '../audio/pcm.ts';
import type { CellPeaks } from './cell-peaks.ts';
import type { PlayerClip } from './survive-report.ts';

/** Above this a sample has no place among 16-bit numbers: half a step over the highest, 32767. */
const highest16Bit = 32_767.5 / 32_768;

/** Counts the samples that a 16-bit player would cut off, at several playback levels in one pass. */
export class PlayerClipTally {
  readonly #rate: number;
  readonly #limits: readonly number[];
  readonly #lowest: number;
  readonly #counts: { samples: number; runs: number; frames: number; longest: number }[];
  /** Length of the unfinished run of each level and channel. */
  readonly #running: Int32Array[];

  /** @param gainsDb level changes before the player, dB, one tally each */
  constructor(sampleRate: number, channels: number, gainsDb: readonly number[]) {
    this.#rate = sampleRate;
    this.#limits = gainsDb.map((gain) => highest16Bit / 10 ** (gain / 20));
    this.#lowest = Math.min(...this.#limits);
    this.#counts = gainsDb.map(() => ({ samples: 0, runs: 0, frames: 0, longest: 0 }));
    this.#running = gainsDb.map(() => new Int32Array(channels));
  }

  /** @param cells of the block: what is low throughout need not be looked at sample by sample */
  push(block: Pcm, { cellFrames, peaks }: CellPeaks): void {
    const frames = frameCount(block);
    peaks.forEach((peak, cell) => {
      const start = cell * cellFrames;
      if (peak <= this.#lowest) this.#look(block, start);
      else this.#search(block, start, Math.min(frames, start + cellFrames));
    });
  }

  #search(block: Pcm, start: number, end: number): void {
    const lowest = this.#lowest;
    let quiet = false;
    for (let i = start; i < end; i++) {
      let high = false;
      for (const samples of block.channels) if (samples[i] > lowest || samples[i] < -lowest) high = true;
      // After one quiet frame no run is open any more: nothing is left to close.
      if (!high && quiet) continue;
      quiet = !high;
      this.#look(block, i);
    }
  }

  #look({ channels }: Pcm, frame: number): void {
    this.#limits.forEach((limit, level) => {
      const counts = this.#counts[level];
      const running = this.#running[level];
      let cut = false;
      for (let c = 0; c < channels.length; c++) {
        if (Math.abs(channels[c][frame]) <= limit) {
          running[c] = 0;
          continue;
        }
        cut = true;
        counts.samples++;
        if (running[c] === 0) counts.runs++;
        running[c]++;
        counts.longest = Math.max(counts.longest, running[c]);
      }
      if (cut) counts.frames++;
    });
  }

  /** One answer a level, in the order of `gainsDb`. */
  finish(): PlayerClip[] {
    return this.#counts.map(({ samples, runs, frames, longest }) => ({
      samples,
      runs,
      seconds: frames / this.#rate,
      longestSeconds: longest / this.#rate,
    }));
  }
}
