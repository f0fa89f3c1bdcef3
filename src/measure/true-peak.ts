import { frameCount, type Pcm } from '../audio/pcm.ts';
import { amplitudeToDb } from '../signal/decibels.ts';
import { interpolationPhases } from '../signal/interpolation.ts';
import type { Over } from './measurement.ts';

const factor = 4;
const taps = 48;
const phases = interpolationPhases(factor, taps, 7.5);

/** First form: 4x throughout. Same interface as the one to come. */
export class TruePeakMeter {
  readonly #rate: number;
  readonly #history: Float32Array[];
  #frames = 0;
  #peak = 0;
  #overs: Over[] = [];
  readonly #open: ({ start: number; end: number; peak: number } | null)[];

  constructor(sampleRate: number, channels: number) {
    this.#rate = sampleRate;
    this.#history = Array.from({ length: channels }, () => new Float32Array(taps - 1));
    this.#open = new Array(channels).fill(null);
  }

  push(block: Pcm): void {
    const frames = frameCount(block);
    block.channels.forEach((samples, channel) => {
      const x = new Float32Array(taps - 1 + frames);
      x.set(this.#history[channel]);
      x.set(samples, taps - 1);
      for (let n = 0; n < frames; n++) {
        let here = 0;
        for (const phase of phases) {
          let sum = 0;
          for (let k = 0; k < taps; k++) sum += phase[k] * x[n + k];
          here = Math.max(here, Math.abs(sum));
        }
        this.#peak = Math.max(this.#peak, here);
        if (here > 1.0001) this.#over(channel, this.#frames + n - taps / 2, here);
      }
      this.#history[channel] = x.slice(frames);
    });
    this.#frames += frames;
  }

  #over(channel: number, frame: number, peak: number): void {
    const open = this.#open[channel];
    if (open && frame - open.end < this.#rate / 1000) {
      open.end = frame + 1;
      open.peak = Math.max(open.peak, peak);
    } else {
      this.#close(channel);
      this.#open[channel] = { start: frame, end: frame + 1, peak };
    }
  }

  #close(channel: number): void {
    const open = this.#open[channel];
    if (open)
      this.#overs.push({
        startSeconds: Math.max(0, open.start / this.#rate),
        endSeconds: open.end / this.#rate,
        channel,
        peakDbtp: amplitudeToDb(open.peak),
      });
    this.#open[channel] = null;
  }

  finish(): { truePeakDbtp: number | null; overCount: number; overs: Over[] } {
    const flush = this.#history.map(() => new Float32Array(taps / 2));
    this.push({ sampleRate: this.#rate, channels: flush });
    this.#open.forEach((_, channel) => {
      this.#close(channel);
    });
    const overCount = this.#overs.length;
    const highest = this.#overs.sort((a, b) => b.peakDbtp - a.peakDbtp).slice(0, 200);
    return {
      truePeakDbtp: this.#peak > 0 ? amplitudeToDb(this.#peak) : null,
      overCount,
      overs: highest.sort((a, b) => a.startSeconds - b.startSeconds),
    };
  }
}
