import type { Kernels } from '../../signal/kernels.ts';
import { PairSpectrum } from '../../signal/pair-spectrum.ts';
import type { SoundFeed } from '../sound-feed.ts';

/** Aim for the width of a band, Hz. */
const wantedBandHz = 100;
/** Samples in a frame. */
const frameLength = 4096;
/** One frame in so many is looked at: what is read off here stands for seconds. */
const stride = 2;

/** Mean square in each band of one frame, all channels added. */
export type BandFrameTaker = (bands: Float64Array) => void;

/** Power in bands of equal width, about 100 Hz, up to half the rate: one sine-windowed frame of 4096 samples in every 8192. */
export class BandSpectrum {
  readonly #feed: SoundFeed;
  readonly #spectrum: PairSpectrum;
  readonly #binsPerBand: number;
  readonly #bands: Float64Array;
  /** A silent partner for an odd channel. */
  readonly #silent: number;
  readonly #taker: BandFrameTaker;
  readonly #binHz: number;
  #count = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, taker: BandFrameTaker) {
    this.#feed = feed;
    this.#taker = taker;
    this.#binHz = sampleRate / frameLength;
    this.#binsPerBand = Math.min(frameLength / 2, Math.max(1, Math.round(wantedBandHz / this.#binHz)));
    this.#spectrum = new PairSpectrum(kernels, frameLength);
    this.#bands = new Float64Array(Math.floor(frameLength / 2 / this.#binsPerBand));
    this.#silent = kernels.allocate(frameLength * 4);
  }

  /** Width of a band, Hz; band b covers [b, b + 1) of it. */
  get bandHz(): number {
    return this.#binsPerBand * this.#binHz;
  }

  get bandCount(): number {
    return this.#bands.length;
  }

  /** Time from one frame to the next, seconds. */
  get stepSeconds(): number {
    return stride / this.#binHz;
  }

  take(frames: number): void {
    for (let at = 0; at < frames; at += frameLength) {
      // A frame filled up with silence would have an edge in it; only a sound that has no other is read so.
      const isWhole = frames - at >= frameLength;
      if (this.#count % stride === 0 && (isWhole || this.#count === 0)) this.#look(at);
      this.#count++;
    }
  }

  #look(at: number): void {
    const { pointers } = this.#feed;
    this.#spectrum.clear();
    for (let c = 0; c < pointers.length; c += 2)
      this.#spectrum.add(
        pointers[c] + 4 * at,
        c + 1 < pointers.length ? pointers[c + 1] + 4 * at : this.#silent,
      );
    const power = this.#spectrum.raw();
    // Two sides, the transform's scale, and the sine window's mean square of a half.
    const scale = (2 * 2) / frameLength ** 2;
    for (let band = 0, k = 0; band < this.#bands.length; band++) {
      let sum = 0;
      for (const end = k + this.#binsPerBand; k < end; k++) sum += power[k];
      this.#bands[band] = sum * scale;
    }
    this.#taker(this.#bands);
  }
}
