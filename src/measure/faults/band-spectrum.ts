import type { Kernels } from '../../signal/kernels.ts';
import { PairSpectrum } from '../../signal/pair-spectrum.ts';
import { chunkFrames, type SoundFeed } from '../sound-feed.ts';

/** Aim for the width of a band, Hz. */
const wantedBandHz = 100;
/** One chunk in so many is looked at: what is read off here stands for seconds. */
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
  #chunks = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number, taker: BandFrameTaker) {
    this.#feed = feed;
    this.#taker = taker;
    this.#binHz = sampleRate / chunkFrames;
    this.#binsPerBand = Math.min(chunkFrames / 2, Math.max(1, Math.round(wantedBandHz / this.#binHz)));
    this.#spectrum = new PairSpectrum(kernels, chunkFrames);
    this.#bands = new Float64Array(Math.floor(chunkFrames / 2 / this.#binsPerBand));
    this.#silent = kernels.allocate(chunkFrames * 4);
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
    // A frame filled up with silence would have an edge in it; only a sound that has no other is read so.
    const wanted =
      this.#chunks % stride === 0 && (frames === chunkFrames || (this.#chunks === 0 && frames > 0));
    this.#chunks++;
    if (!wanted) return;
    const { pointers } = this.#feed;
    this.#spectrum.clear();
    for (let c = 0; c < pointers.length; c += 2)
      this.#spectrum.add(pointers[c], pointers[c + 1] ?? this.#silent);
    const power = this.#spectrum.raw();
    // Two sides, the transform's scale, and the sine window's mean square of a half.
    const scale = (2 * 2) / chunkFrames ** 2;
    for (let band = 0, k = 0; band < this.#bands.length; band++) {
      let sum = 0;
      for (const end = k + this.#binsPerBand; k < end; k++) sum += power[k];
      this.#bands[band] = sum * scale;
    }
    this.#taker(this.#bands);
  }
}
