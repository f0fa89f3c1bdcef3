import { amplitudeToDb } from '../signal/decibels.ts';
import type { Over } from './measurement.ts';

/** How many overs are told one by one. */
const told = 200;
/** Overs closer than this in one channel are heard, and told, as one (heuristic). */
const mergeSeconds = 0.001;

interface Stretch {
  readonly startFrame: number;
  endFrame: number;
  peak: number;
}

/** Joins sample intervals that pass full scale into overs, counts them and keeps the highest. */
export class OverCollector {
  readonly #rate: number;
  readonly #open: (Stretch | null)[];
  #kept: Over[] = [];
  #count = 0;

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#open = new Array<Stretch | null>(channels).fill(null);
  }

  /** One interval [frame, frame + 1) with its highest |waveform|; in order of time within a channel. */
  add(channel: number, frame: number, peak: number): void {
    const open = this.#open[channel];
    if (open && frame - open.endFrame < mergeSeconds * this.#rate) {
      open.endFrame = frame + 1;
      open.peak = Math.max(open.peak, peak);
      return;
    }
    this.#close(channel);
    this.#open[channel] = { startFrame: frame, endFrame: frame + 1, peak };
  }

  /** @param frames length of the sound; the waveform rings on beyond its ends, the times told do not */
  finish(frames: number): { overCount: number; overs: Over[] } {
    for (let c = 0; c < this.#open.length; c++) this.#close(c);
    this.#keepHighest();
    const seconds = frames / this.#rate;
    const overs = this.#kept
      .map((over) => ({
        ...over,
        startSeconds: Math.min(Math.max(over.startSeconds, 0), seconds),
        endSeconds: Math.min(Math.max(over.endSeconds, 0), seconds),
      }))
      .sort((a, b) => a.startSeconds - b.startSeconds || a.channel - b.channel);
    return { overCount: this.#count, overs };
  }

  #close(channel: number): void {
    const open = this.#open[channel];
    if (!open) return;
    this.#open[channel] = null;
    this.#count++;
    this.#kept.push({
      startSeconds: open.startFrame / this.#rate,
      endSeconds: open.endFrame / this.#rate,
      channel,
      peakDbtp: amplitudeToDb(open.peak),
    });
    // Trimmed now and then, so that a ruined three-hour file does not fill memory with overs.
    if (this.#kept.length >= 20 * told) this.#keepHighest();
  }

  #keepHighest(): void {
    this.#kept.sort(
      (a, b) => b.peakDbtp - a.peakDbtp || a.startSeconds - b.startSeconds || a.channel - b.channel,
    );
    this.#kept.length = Math.min(this.#kept.length, told);
  }
}
