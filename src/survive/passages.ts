import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Span } from '../measure/measurement.ts';

const cellSeconds = 0.05;
/** What is coded of a song for the quick answer (a choice of ours: about 8 s with surroundings). */
const passageCount = 12;
const passageSeconds = 0.3;
/** Passages are at least this far apart, so that one loud beat does not take them all. */
const apartSeconds = 0.4;
/**
 * How much of the mean sample-to-sample change is expected on top of the peak: coding noise grows with what is bright.
 * Chosen from 13 weightings of peak, level, brightness and density on six masters of the demo record, where this one
 * came nearest to the decoded peaks of the whole (heuristic).
 */
const brightShare = 0.1;

/** Picks the passages of a sound that lossy coding likeliest throws over: high peaks, rather in bright stretches. */
export class LikelyPassages {
  readonly #rate: number;
  readonly #cellFrames: number;
  readonly #scores: number[] = [];
  #peak = 0;
  #change = 0;
  #filled = 0;
  #frames = 0;
  readonly #previous: Float32Array;

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#cellFrames = Math.max(1, Math.round(cellSeconds * sampleRate));
    this.#previous = new Float32Array(channels);
  }

  push(block: Pcm): void {
    const frames = frameCount(block);
    for (let at = 0; at < frames; ) {
      const end = Math.min(frames, at + this.#cellFrames - this.#filled);
      block.channels.forEach((samples, c) => {
        let [peak, change, last] = [this.#peak, 0, this.#previous[c]];
        for (let i = at; i < end; i++) {
          const x = samples[i];
          const size = x < 0 ? -x : x;
          if (size > peak) peak = size;
          change += (x - last) * (x - last);
          last = x;
        }
        this.#previous[c] = last;
        this.#peak = peak;
        this.#change += change;
      });
      this.#filled += end - at;
      at = end;
      if (this.#filled === this.#cellFrames) this.#endCell(block.channels.length);
    }
    this.#frames += frames;
  }

  /** In order of time; fewer than twelve when the sound is short. Silent parts give none. */
  finish(): Span[] {
    if (this.#filled > 0) this.#endCell(this.#previous.length);
    const seconds = this.#frames / this.#rate;
    const cells = this.#scores
      .map((score, cell) => ({ score, middle: (cell + 0.5) * (this.#cellFrames / this.#rate) }))
      .filter(({ score }) => score > 0)
      .sort((a, b) => b.score - a.score || a.middle - b.middle);
    const kept: number[] = [];
    for (const { middle } of cells) {
      if (kept.length === passageCount) break;
      if (kept.every((each) => Math.abs(each - middle) >= apartSeconds)) kept.push(middle);
    }
    return kept
      .sort((a, b) => a - b)
      .map((middle) => ({
        startSeconds: Math.max(0, middle - passageSeconds / 2),
        endSeconds: Math.min(seconds, middle + passageSeconds / 2),
      }));
  }

  #endCell(channels: number): void {
    // A silent cell scores nothing.
    this.#scores.push(this.#peak + brightShare * Math.sqrt(this.#change / (this.#filled * channels)));
    [this.#peak, this.#change, this.#filled] = [0, 0, 0];
  }
}
