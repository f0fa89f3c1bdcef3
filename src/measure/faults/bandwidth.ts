/** How far up the sound reaches, where it stops as if cut with a knife. */
export interface BandwidthResult {
  /** Frequency above which there is next to nothing although there is plenty just below, Hz; null when the spectrum fades out by itself or reaches to the top. */
  readonly edgeHz: number | null;
  /** Fall from just below to just above the edge, dB within about 1 kHz; null without an edge. */
  readonly dropDb: number | null;
  /** What the edge tells (heuristic): 'lossy' when it lies where lossy encoders cut off, 'upsampled' when it lies at half a
   * lower sample rate, null when neither or when both could be. */
  readonly tells: 'lossy' | 'upsampled' | null;
  /** That lower sample rate, Hz; null unless upsampled. */
  readonly sourceRateHz: number | null;
}

// Heuristics; test/conformance/faults-bandwidth.test.ts says what they miss and what they mistake.
/** Least fall, dB. A filter of 96 dB an octave falls by 13 dB from 10 to 11 kHz (computed). */
const leastDropDb = 20;
/** What is compared around an edge, Hz. */
const below = { from: -600, to: -100 };
const above = { from: 300, to: 1300 };
/** Lowest edge looked for. */
const lowestHz = 8000;
/** Above this an edge may as well be the filter of a converter or of a coder that keeps everything audible. */
const highestLossyHz = 19_800;
/** Lowest edge that tells of 44.1 kHz inside a 48 kHz file; coders that keep all they can stop at 20 to 20.6 kHz. */
const lowest44In48Hz = 20_900;
const commonRates = [44_100, 48_000, 88_200, 96_000];

/** Long-term spectrum, as power and as mean level: one sees what is there only now and then, the other is not misled by splinters of clipping. */
export class BandwidthMeter {
  readonly #rate: number;
  readonly #bandHz: number;
  readonly #power: Float64Array;
  readonly #logs: Float64Array;
  #frames = 0;

  constructor(sampleRate: number, bandCount: number, bandHz: number) {
    this.#rate = sampleRate;
    this.#bandHz = bandHz;
    this.#power = new Float64Array(bandCount);
    this.#logs = new Float64Array(bandCount);
  }

  take(bands: Float64Array): void {
    const from = Math.floor((lowestHz + below.from) / this.#bandHz);
    if (bands.length <= from || !bands.some((x) => x > 0)) return;
    for (let b = from; b < bands.length; b++) {
      this.#power[b] += bands[b];
      this.#logs[b] += Math.log10(Math.max(bands[b], 1e-20));
    }
    this.#frames++;
  }

  finish(): BandwidthResult {
    const none: BandwidthResult = { edgeHz: null, dropDb: null, tells: null, sourceRateHz: null };
    if (this.#frames === 0) return none;
    const edges = [
      this.#edge((b) => 10 * Math.log10(Math.max(this.#power[b] / this.#frames, 1e-20))),
      this.#edge((b) => (10 * this.#logs[b]) / this.#frames),
    ].filter((edge) => edge !== null && edge.dropDb >= leastDropDb);
    const edge = edges.sort((a, b) => b!.dropDb - a!.dropDb)[0];
    return edge ? { ...edge, ...explain(edge.edgeHz, this.#rate) } : none;
  }

  /** The steepest fall that is not made up for further up. */
  #edge(levelDb: (band: number) => number): { edgeHz: number; dropDb: number } | null {
    const band = (hz: number) => Math.round(hz / this.#bandHz);
    // The topmost bands belong to the filter of any converter.
    const top = Math.floor(0.99 * this.#power.length);
    const levels = Array.from({ length: this.#power.length }, (_, b) => levelDb(b));
    const mean = (from: number, to: number) =>
      levels.slice(from, to).reduce((sum, level) => sum + level, 0) / (to - from);
    let best: { at: number; dropDb: number; half: number } | null = null;
    for (let at = band(lowestHz); at + band(above.from) + 2 <= top; at++) {
      const high = mean(at + band(below.from), at + band(below.to));
      const near = mean(at + band(above.from), Math.min(top, at + band(above.to)));
      if (best && high - near <= best.dropDb) continue;
      const rest = levels.slice(at + band(above.from), top).sort((a, b) => a - b);
      const dropDb = high - Math.max(near, rest[Math.floor(0.9 * (rest.length - 1))]);
      if (best === null || dropDb > best.dropDb) best = { at, dropDb, half: high - dropDb / 2 };
    }
    if (best === null) return null;
    let at = best.at + band(below.from);
    while (at < top && levels[at] > best.half) at++;
    return { edgeHz: at * this.#bandHz, dropDb: best.dropDb };
  }
}

function explain(edgeHz: number, rate: number): Pick<BandwidthResult, 'tells' | 'sourceRateHz'> {
  if (rate >= 44_100 && edgeHz <= highestLossyHz) return { tells: 'lossy', sourceRateHz: null };
  const source = commonRates.find(
    (lower) => rate >= 1.08 * lower && edgeHz <= 0.505 * lower && edgeHz >= 0.45 * lower,
  );
  const isClear = source !== undefined && (rate > 48_000 || edgeHz >= lowest44In48Hz);
  return isClear ? { tells: 'upsampled', sourceRateHz: source } : { tells: null, sourceRateHz: null };
}
