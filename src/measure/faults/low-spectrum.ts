import { floats, type Kernels } from '../../signal/kernels.ts';
import { PairSpectrum } from '../../signal/pair-spectrum.ts';
import { chunkFrames, type SoundFeed } from '../sound-feed.ts';

/** Rate after the first step down, Hz, at most times sqrt 2 off; halved once more. */
const boxRateHz = 6000;
/** Shortest frame, seconds: bins of 0.37 Hz at most, which tell mains hum from the notes beside it. */
const frameSeconds = 2.7;
/** Highest frequency handed out, Hz: above the eighth harmonic of 60 Hz and what stands beside it. */
const topHz = 600;
/** A frame begins after every fourth part of the one before, so that a pause little longer than a frame holds several. */
const hopShare = 4;
/** Second step down: eight box sums weighted (a Hann window) make one value for every two. */
const tapCount = 8;
const step = 2;
const taps = Float32Array.from({ length: tapCount }, (_, i) => {
  return (1 - Math.cos((2 * Math.PI * (i + 0.5)) / tapCount)) / tapCount;
});

/** One spectrum, good only during the call: power in bins 0.., one-sided, all channels, scaled so that a sine in one channel is its mean square
 * when the three bins around it are added. */
export type LowFrameTaker = (power: Float64Array) => void;

/**
 * Fine spectra up to 600 Hz: the sound is brought down to about 3 kHz in two steps, then transformed in
 * Hann-windowed frames of 2.7 s or more, one in every quarter of that. What folds down from above comes 35 dB weaker or more below
 * 200 Hz, 20 dB at 500 Hz (computed), and does not stand still as hum does. Sounds shorter than a frame have none.
 */
export class LowSpectrum {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #box: number;
  readonly #rate: number;
  readonly #size: number;
  readonly #spectrum: PairSpectrum;
  readonly #gain: Float64Array;
  readonly #taps: number;
  /** For each channel, box sums that wait for their filter, and a frame in the filling; a silent frame for an odd one. */
  readonly #boxes: readonly number[];
  readonly #frames: readonly number[];
  readonly #power: Float64Array;
  readonly #taker: LowFrameTaker;
  #waiting = 0;
  #filled = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, taker: LowFrameTaker) {
    const channels = feed.pointers.length;
    this.#kernels = kernels;
    this.#feed = feed;
    this.#taker = taker;
    this.#box = Math.min(64, Math.max(1, 2 ** Math.round(Math.log2(sampleRate / boxRateHz))));
    this.#rate = sampleRate / this.#box / step;
    this.#size = Math.max(16, 2 ** Math.ceil(Math.log2(frameSeconds * this.#rate)));
    this.#spectrum = new PairSpectrum(kernels, this.#size, 'hann');
    this.#taps = kernels.allocate(4 * tapCount);
    floats(kernels, this.#taps, tapCount).set(taps);
    const room = tapCount + chunkFrames / this.#box;
    this.#boxes = Array.from({ length: channels }, () => kernels.allocate(4 * room));
    this.#frames = Array.from({ length: channels + (channels % 2) }, () => kernels.allocate(4 * this.#size));
    this.#gain = this.#correction();
    this.#power = new Float64Array(this.#gain.length);
  }

  /** Width of a bin, Hz. */
  get binHz(): number {
    return this.#rate / this.#size;
  }

  take(frames: number): void {
    const k = this.#kernels;
    this.#feed.pointers.forEach((pointer, channel) => {
      k.sumBoxes(pointer, frames, this.#box, this.#boxes[channel] + 4 * this.#waiting);
    });
    const have = this.#waiting + Math.floor(frames / this.#box);
    let from = 0;
    while (from + tapCount <= have) {
      const count = Math.min(Math.floor((have - tapCount - from) / step) + 1, this.#size - this.#filled);
      this.#boxes.forEach((sums, channel) => {
        const to = this.#frames[channel] + 4 * this.#filled;
        k.decimate(sums + 4 * from, this.#taps, tapCount, step, count, to);
      });
      from += step * count;
      this.#filled += count;
      if (this.#filled === this.#size) this.#endFrame();
    }
    for (const sums of this.#boxes) floats(k, sums, have).copyWithin(0, from);
    this.#waiting = have - from;
  }

  #endFrame(): void {
    this.#spectrum.clear();
    for (let c = 0; c < this.#frames.length; c += 2) this.#spectrum.add(this.#frames[c], this.#frames[c + 1]);
    const raw = this.#spectrum.raw();
    const gain = this.#gain;
    const power = this.#power;
    for (let k = 0; k < power.length; k++) power[k] = raw[k] * gain[k];
    this.#taker(power);
    const hop = this.#size / hopShare;
    for (const frame of this.#frames) floats(this.#kernels, frame, this.#size).copyWithin(0, hop);
    this.#filled = this.#size - hop;
  }

  /** From raw power to mean square: undoes the two steps down at each bin, the window and the transform's scale. */
  #correction(): Float64Array {
    const boxStep = this.binHz / (2 * this.#rate);
    const bins = Math.min(this.#size / 2, Math.ceil(topHz / this.binHz)) + 1;
    return Float64Array.from({ length: bins }, (_, k) => {
      const turn = Math.PI * k * boxStep;
      let response = 0;
      for (let i = 0; i < tapCount; i++) response += taps[i] * Math.cos(2 * turn * (i - (tapCount - 1) / 2));
      response *= k === 0 ? this.#box : Math.sin(turn) / Math.sin(turn / this.#box);
      const sides = k === 0 ? 1 : 2;
      // Mean square of a Hann window: 3/8.
      return sides / (0.375 * this.#size ** 2 * Math.max(1e-3, Math.abs(response)) ** 2);
    });
  }
}
