/** How far a limiter turned down; decibels are 0 or more. */
export interface Reduction {
  readonly deepestDb: number;
  readonly p95Db: number;
  readonly workingDb: number;
  readonly share: { readonly over01Db: number; readonly over1Db: number; readonly over3Db: number };
}

const binDb = 0.01;
const mostDb = 60;
/** Below this a sample says nothing exact of the gain it got. */
const quiet = 1e-4;
/** What counts as work, dB. */
const workDb = 0.1;

/**
 * Statistics of a limiter's gain, read from what went in and what came out: a limiter multiplies, so at the highest sample of each
 * millisecond their ratio is the gain.
 */
export class GainReduction {
  readonly #cell: number;
  readonly #scale: number;
  readonly #bins = new Float64Array(Math.round(mostDb / binDb) + 1);
  #deepestDb = 0;
  #cells = 0;
  #workCells = 0;
  #workSum = 0;

  /** @param drive gain (a factor) between what is called the input and the limiter */
  constructor(sampleRate: number, drive: number) {
    this.#cell = Math.max(1, Math.round(sampleRate / 1000));
    this.#scale = drive;
  }

  /** Takes as many frames of both, all channels; the last cell of a block may be shorter. */
  take(before: readonly Float32Array[], after: readonly Float32Array[], frames: number): void {
    for (let at = 0; at < frames; at += this.#cell) {
      let highest = quiet;
      let gain = 1;
      const end = Math.min(frames, at + this.#cell);
      for (let c = 0; c < before.length; c++) {
        const samples = before[c];
        for (let i = at; i < end; i++) {
          const height = Math.abs(samples[i]) * this.#scale;
          if (height <= highest) continue;
          highest = height;
          gain = Math.abs(after[c][i]) / height;
        }
      }
      this.#add(gain >= 1 ? 0 : Math.min(mostDb, -20 * Math.log10(Math.max(gain, 1e-3))));
    }
  }

  finish(): Reduction {
    const cells = Math.max(1, this.#cells);
    const over = (db: number) => this.#bins.subarray(Math.round(db / binDb) + 1).reduce((a, b) => a + b, 0);
    let bin = 0;
    for (let count = 0; bin < this.#bins.length; bin++) {
      count += this.#bins[bin];
      if (count >= 0.95 * this.#cells) break;
    }
    return {
      deepestDb: this.#deepestDb,
      p95Db: bin * binDb,
      workingDb: this.#workCells === 0 ? 0 : this.#workSum / this.#workCells,
      share: { over01Db: over(workDb) / cells, over1Db: over(1) / cells, over3Db: over(3) / cells },
    };
  }

  #add(db: number): void {
    this.#cells++;
    this.#bins[Math.round(db / binDb)]++;
    if (db > this.#deepestDb) this.#deepestDb = db;
    if (db <= workDb) return;
    this.#workCells++;
    this.#workSum += db;
  }
}
