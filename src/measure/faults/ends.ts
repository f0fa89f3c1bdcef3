import { amplitudeToDb } from '../../signal/decibels.ts';
import type { Span } from '../span.ts';

/** How the sound begins and ends, and whether it falls silent in between. */
export interface EndsResult {
  /** Time until the first sample that is not 0 in any channel; the whole length for silence. Grain: 64 samples, as below. */
  readonly headZeroSeconds: number;
  /** Time from the last sample that is not 0 in any channel to the end; the whole length for silence. */
  readonly tailZeroSeconds: number;
  /** Time until the sound first passes -60 dBFS; null when it never does. */
  readonly headQuietSeconds: number | null;
  /** Time from where the sound last passes -60 dBFS to the end; null when it never does. */
  readonly tailQuietSeconds: number | null;
  /** Height of the very first sample, the highest of the channels, dBFS; null when it is 0 in all. Sound that was not cut
   * into begins near 0, even a drum. */
  readonly headDbfs: number | null;
  /** Highest |sample| of the last 3 to 5 ms before the end, or before the digital silence at the end, dBFS; null for silence.
   * High: the sound is cut off. */
  readonly tailDbfs: number | null;
  /** Stretches of digital silence in all channels, 0.5 s or longer, after the first sound and before the last; the 200 longest, in order of time. */
  readonly gaps: readonly Span[];
  /** How many there are. */
  readonly gapCount: number;
}

/** Quieter than this is taken for silence (heuristic): -60 dBFS. */
const heard = 10 ** (-60 / 20);
const tailSeconds = 0.003;
/** Shortest digital silence inside the song that is told (heuristic). */
const shortestGapSeconds = 0.5;
const told = 200;

/** Looks at the two ends and for silence between them, in cells of 64 samples. */
export class EndsMeter {
  readonly #rate: number;
  readonly #tail: Float32Array;
  #head = 0;
  #firstSound = -1;
  #lastSound = -1;
  #firstHeard = -1;
  #lastHeard = -1;
  /** Level of the last milliseconds up to the last sound. */
  #tailPeak = 0;
  #gaps: Span[] = [];
  #gapCount = 0;

  constructor(sampleRate: number, cellFrames: number) {
    this.#rate = sampleRate;
    this.#tail = new Float32Array(Math.max(1, Math.ceil((tailSeconds * sampleRate) / cellFrames)));
  }

  /** The very first frame: its highest |sample|. */
  start(peak: number): void {
    this.#head = peak;
  }

  /** The next cell: its highest |sample| in any channel, and the frames [startFrame, endFrame) it covers. */
  add(peak: number, startFrame: number, endFrame: number): void {
    if (peak === 0 && this.#lastSound === startFrame) this.#tailPeak = this.#highestOfTail();
    const tail = this.#tail;
    for (let i = 1; i < tail.length; i++) tail[i - 1] = tail[i];
    tail[tail.length - 1] = peak;
    if (peak === 0) return;
    if (this.#firstSound < 0) this.#firstSound = startFrame;
    else this.#gap(this.#lastSound, startFrame);
    this.#lastSound = endFrame;
    if (peak < heard) return;
    if (this.#firstHeard < 0) this.#firstHeard = startFrame;
    this.#lastHeard = endFrame;
  }

  finish(frames: number): EndsResult {
    if (this.#lastSound === frames) this.#tailPeak = this.#highestOfTail();
    const seconds = (from: number, to: number) => (to - from) / this.#rate;
    const silent = this.#firstSound < 0;
    return {
      headZeroSeconds: seconds(0, silent ? frames : this.#firstSound),
      tailZeroSeconds: seconds(silent ? 0 : this.#lastSound, frames),
      headQuietSeconds: this.#firstHeard < 0 ? null : seconds(0, this.#firstHeard),
      tailQuietSeconds: this.#lastHeard < 0 ? null : seconds(this.#lastHeard, frames),
      headDbfs: this.#head > 0 ? amplitudeToDb(this.#head) : null,
      tailDbfs: this.#tailPeak > 0 ? amplitudeToDb(this.#tailPeak) : null,
      gaps: longest(this.#gaps).sort((a, b) => a.startSeconds - b.startSeconds),
      gapCount: this.#gapCount,
    };
  }

  #highestOfTail(): number {
    return this.#tail.reduce((highest, value) => Math.max(highest, value), 0);
  }

  #gap(startFrame: number, endFrame: number): void {
    if (endFrame - startFrame < shortestGapSeconds * this.#rate) return;
    this.#gapCount++;
    this.#gaps.push({ startSeconds: startFrame / this.#rate, endSeconds: endFrame / this.#rate });
    if (this.#gaps.length >= 20 * told) this.#gaps = longest(this.#gaps);
  }
}

function longest(spans: readonly Span[]): Span[] {
  const length = ({ startSeconds, endSeconds }: Span) => endSeconds - startSeconds;
  return [...spans].sort((a, b) => length(b) - length(a) || a.startSeconds - b.startSeconds).slice(0, told);
}
