import type { Kernels } from '../signal/kernels.ts';
import { SpectrumFaultMeter } from './faults/fault-meter.ts';
import type { Lane } from './lane.ts';
import { LowEndMeter } from './low-end.ts';
import { PitchOverTime } from './pitch-over-time.ts';
import { findForm } from './sections.ts';
import type { SoundFeed } from './sound-feed.ts';
import { stereoBands } from './stereo.ts';
import { StereoBandMeter } from './stereo-bands.ts';
import { ToneMeter, toneFrameLength } from './tone.ts';
import { ToneOverTime } from './tone-over-time.ts';
import { toneTrace } from './tone-trace.ts';

export type SpectrumPart = ReturnType<SpectrumLane['finish']>;

/** Everything that is read off spectra. */
export class SpectrumLane implements Lane {
  readonly #feed: SoundFeed;
  readonly #rate: number;
  readonly #overTime: ToneOverTime;
  readonly #pitch: PitchOverTime;
  readonly #stereo: StereoBandMeter;
  readonly #lowEnd: LowEndMeter;
  readonly #tone: ToneMeter;
  readonly #faults: SpectrumFaultMeter;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#feed = feed;
    this.#rate = sampleRate;
    const size = toneFrameLength(sampleRate);
    this.#overTime = new ToneOverTime(sampleRate, size);
    this.#pitch = new PitchOverTime(sampleRate, size);
    this.#stereo = new StereoBandMeter(kernels, sampleRate, size);
    this.#lowEnd = new LowEndMeter(sampleRate, size);
    this.#tone = new ToneMeter(kernels, feed, sampleRate, [
      this.#overTime,
      this.#pitch,
      this.#stereo,
      this.#lowEnd,
    ]);
    this.#faults = new SpectrumFaultMeter(kernels, feed, sampleRate);
  }

  take(frames: number): void {
    this.#tone.take(frames);
    this.#faults.take(frames);
  }

  finish() {
    // The tone meter's last frames reach its takers only now.
    const tone = this.#tone.finish();
    const bands = this.#overTime.finish();
    return {
      tone,
      toneTrace: toneTrace(bands),
      form: findForm(bands, this.#pitch.finish()),
      stereo: stereoBands(this.#stereo.finish(), this.#feed.frames / this.#rate),
      lowEnd: this.#lowEnd.finish(),
      faults: this.#faults.finish(),
    };
  }
}
