import { frameCount, type Pcm } from '../../audio/pcm.ts';
import { LoudnessMeter } from '../../measure/loudness.ts';
import { SoundFeed } from '../../measure/sound-feed.ts';
import { TruePeakSearch } from '../../measure/true-peak.ts';
import { instantiateKernels } from '../../signal/kernels.ts';

/** Below this a sample counts as silence: −70 dBFS, above dither and the noise of a quiet room's microphone (heuristic). */
const silentBelow = 10 ** (-70 / 20);

/** What is read off a file on its way out, and again when it is read back. */
export interface FileReading {
  readonly frames: number;
  readonly integratedLufs: number | null;
  readonly rangeLu: number | null;
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
  readonly truePeakDbtp: number | null;
  /** Before the first and after the last sample that is none; both the whole length for a silent file. */
  readonly silentHeadSeconds: number;
  readonly silentTailSeconds: number;
}

/** Takes blocks one after the other; what comes out does not depend on how they were cut. */
export class FileMeter {
  readonly #rate: number;
  readonly #feed: SoundFeed;
  readonly #loudness: LoudnessMeter;
  readonly #truePeak: TruePeakSearch;
  #frames = 0;
  #firstSound = -1;
  #lastSound = -1;

  constructor(sampleRate: number, channels: number) {
    const kernels = instantiateKernels();
    this.#rate = sampleRate;
    this.#feed = new SoundFeed(kernels, { sampleRate, channels });
    this.#loudness = new LoudnessMeter(kernels, this.#feed, sampleRate);
    this.#truePeak = new TruePeakSearch(kernels, this.#feed, sampleRate);
  }

  push(block: Pcm): void {
    this.#feed.push(block, this.#take);
    for (const samples of block.channels) {
      if (this.#firstSound < 0 || this.#firstSound >= this.#frames) {
        const first = samples.findIndex((x) => Math.abs(x) >= silentBelow);
        if (first >= 0 && (this.#firstSound < 0 || this.#frames + first < this.#firstSound))
          this.#firstSound = this.#frames + first;
      }
      for (let i = samples.length - 1; this.#frames + i > this.#lastSound && i >= 0; i--)
        if (Math.abs(samples[i]) >= silentBelow) this.#lastSound = this.#frames + i;
    }
    this.#frames += frameCount(block);
  }

  /** The figures, and the power of every tenth of a second, from which the loudness of several files together can be had. */
  finish(): { readonly reading: FileReading; readonly stepPowers: readonly number[] } {
    this.#feed.finish(this.#take);
    const { result, trace } = this.#loudness.finish();
    const { integratedLufs, rangeLu, maxMomentaryLufs, maxShortTermLufs } = result;
    const silent = this.#firstSound < 0;
    return {
      stepPowers: trace.stepPowers,
      reading: {
        frames: this.#frames,
        ...{ integratedLufs, rangeLu, maxMomentaryLufs, maxShortTermLufs },
        truePeakDbtp: this.#truePeak.finish().truePeakDbtp,
        silentHeadSeconds: (silent ? this.#frames : this.#firstSound) / this.#rate,
        silentTailSeconds: (silent ? this.#frames : this.#frames - 1 - this.#lastSound) / this.#rate,
      },
    };
  }

  readonly #take = (frames: number, last: boolean): void => {
    this.#loudness.take(frames);
    this.#truePeak.take(frames, last);
  };
}
