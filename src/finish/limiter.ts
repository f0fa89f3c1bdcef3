import { floats, instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { truePeakTaps } from '../signal/true-peak-tables.ts';
import { type LimiterPace, LimiterStage } from './limiter-stage.ts';
import { heightTaps } from './limiter-tables.ts';
import { type Format, mostFrames, type Part, type PartKind } from './part.ts';
import { applyRamp, Ramp } from './ramp.ts';
import type { ValuesOf } from './settings.ts';

const limiterFields = {
  gainDb: { kind: 'number', label: 'gain', unit: 'dB', lowest: 0, highest: 24, default: 0 },
  ceilingDbtp: { kind: 'number', label: 'ceiling', unit: 'dBTP', lowest: -20, highest: 0, default: -1 },
  lookAheadMs: { kind: 'number', label: 'look-ahead', unit: 'ms', lowest: 0.3, highest: 10, default: 0.5 },
  releaseMs: { kind: 'number', label: 'release', unit: 'ms', lowest: 1, highest: 1000, default: 1 },
} as const;

type Settings = ValuesOf<typeof limiterFields>;

/**
 * Holds the true peak at or under a ceiling. The height of the waveform is taken on the 16x grid, from 48 and 96 samples a value; the
 * gain that follows from it is smooth enough (no corner within the look-ahead) to be applied at the sound's own rate: so a
 * sound that stays under the ceiling passes bit by bit. A changing gain moves what stands between samples a little; a
 * second and a third pass of the same kind hold down what that leaves. The defaults are as quick as they are because that
 * lies nearest to the sound that came in, by its waveform and by specific loudness (bench/limiter.mjs).
 */
export const limiter: PartKind<typeof limiterFields> = {
  id: 'limiter',
  name: 'the limiter',
  fields: limiterFields,
  isNeutral: () => false,
  canFollow: (before, after) => before.lookAheadMs === after.lookAheadMs,
  prepare: (settings, format) => new Limiter(settings, format),
};

/** The later passes have little to do: they hold less long. */
const laterLookAheadSeconds = 0.001;
/**
 * Where sound reaches right up to half its rate, what stands between samples depends on the filter that is asked. The first
 * pass asks the one of the house's own meter, so that this reads no more than the ceiling either.
 */
const tapsOfPasses = [truePeakTaps, heightTaps, heightTaps];
const laterReleaseSeconds = 0.001;
/** Of the average that the release follows (heuristic). */
const slowSeconds = 0.25;
/** Aimed at below the ceiling, for what the last pass leaves. */
const marginDb = 0.003;

function pacesOf({ lookAheadMs, releaseMs }: Settings): LimiterPace[] {
  return tapsOfPasses.map((taps, pass) => ({
    taps,
    lookAheadSeconds: pass === 0 ? lookAheadMs / 1000 : laterLookAheadSeconds,
    releaseSeconds: pass === 0 ? releaseMs / 1000 : Math.min(releaseMs / 1000, laterReleaseSeconds),
    slowFallSeconds: slowSeconds,
    slowRiseSeconds: slowSeconds,
  }));
}

class Limiter implements Part<Settings> {
  readonly latencySamples: number;
  readonly tailSamples: number;
  readonly #kernels: Kernels = instantiateKernels();
  readonly #stages: readonly LimiterStage[];
  readonly #outputs: readonly number[];
  readonly #gain: Ramp;

  constructor(settings: Settings, { sampleRate, channels }: Format) {
    this.#stages = pacesOf(settings).map(
      (pace) => new LimiterStage(this.#kernels, channels, sampleRate, pace),
    );
    this.#outputs = Array.from({ length: channels }, () => this.#kernels.allocate(4 * mostFrames));
    this.latencySamples = this.#stages.reduce((sum, stage) => sum + stage.latencySamples, 0);
    this.tailSamples = this.latencySamples;
    this.#gain = new Ramp(10 ** (settings.gainDb / 20), sampleRate);
    this.#setCeiling(settings);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    applyRamp(this.#gain, block);
    block.forEach((samples, c) => {
      floats(this.#kernels, this.#stages[0].input(c), frames).set(samples);
    });
    this.#stages.forEach((stage, s) => {
      const next = this.#stages[s + 1];
      stage.process(frames, next ? block.map((_, c) => next.input(c)) : this.#outputs);
    });
    block.forEach((samples, c) => {
      samples.set(floats(this.#kernels, this.#outputs[c], frames));
    });
  }

  set(settings: Settings): void {
    this.#gain.moveTo(10 ** (settings.gainDb / 20));
    const paces = pacesOf(settings);
    this.#stages.forEach((stage, s) => {
      stage.pace(paces[s]);
    });
    this.#setCeiling(settings);
  }

  reset(): void {
    this.#gain.settle();
    for (const stage of this.#stages) stage.reset();
  }

  #setCeiling({ ceilingDbtp }: Settings): void {
    for (const stage of this.#stages) stage.ceiling = 10 ** ((ceilingDbtp - marginDb) / 20);
  }
}
