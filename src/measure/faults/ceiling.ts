/** How crowded the highest levels are. */
export interface CeilingResult {
  /** Share of blocks of about 10 ms, of those within 20 dB of the highest, whose peak comes within 0.5 dB of the highest one, 0..1; null for silence.
   * A limiter lines the peaks up; without one they come singly. */
  readonly nearTopShare: number | null;
}

const blockSeconds = 0.01;
const nearDb = 0.5;
const soundingDb = 20;
const binsPerDb = 20;
const lowestDb = -120;

/** Tallies block peaks by level (to 0.05 dB), so that they can be held against the highest, which is known at the end. */
export class CeilingMeter {
  readonly #cells: number;
  readonly #tally = new Uint32Array(-lowestDb * binsPerDb * 2);
  #inBlock = 0;
  #peak = 0;

  constructor(sampleRate: number, cellFrames: number) {
    this.#cells = Math.max(1, Math.round((blockSeconds * sampleRate) / cellFrames));
  }

  /** The next cell: its highest |sample| in any channel. */
  add(peak: number): void {
    if (peak > this.#peak) this.#peak = peak;
    if (++this.#inBlock < this.#cells) return;
    const bin = Math.floor((20 * Math.log10(this.#peak) - lowestDb) * binsPerDb);
    if (bin >= 0) this.#tally[Math.min(bin, this.#tally.length - 1)]++;
    this.#inBlock = 0;
    this.#peak = 0;
  }

  finish(): CeilingResult {
    const top = this.#tally.findLastIndex((blocks) => blocks > 0);
    if (top < 0) return { nearTopShare: null };
    const from = (db: number) =>
      this.#tally.subarray(Math.max(0, top - db * binsPerDb + 1), top + 1).reduce((sum, n) => sum + n, 0);
    return { nearTopShare: from(nearDb) / from(soundingDb) };
  }
}
