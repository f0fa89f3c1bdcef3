import { type Chain, type ChainPart, emptyChain } from './chain.ts';
import { ChainRunner } from './chain-runner.ts';
import { Delay } from './delay.ts';

/** What a limiter or compressor of a chain took away over time. */
export interface Reduction {
  readonly partId: string;
  readonly stepSeconds: number;
  /** The most in each step, dB, at most 0. */
  readonly reductionDb: number[];
  /** The most of all, dB. */
  readonly mostDb: number;
  /** Share of the steps in which it took 1 dB and more, 0..1. */
  readonly busyShare: number;
}

const stepSeconds = 0.05;
const busyDb = 1;
/** Samples smaller than this (-60 dBFS) do not tell the gain. */
const leastSample = 1e-3;

/**
 * Runs a sound through a chain and reads off what its limiters and compressors do: both only multiply samples, so what
 * comes out over what went in is the gain itself. Blocks are left as they are. Rate converters pass everything, as live.
 */
export class ReductionLook {
  readonly #stages: readonly (ChainRunner | MeteredPart)[];

  /** Throws CHAIN_UNSUITABLE as ChainRunner does. */
  constructor(chain: Chain, sampleRate: number, channels: number) {
    const stages: (ChainRunner | MeteredPart)[] = [];
    let plain: ChainPart[] = [];
    for (const part of chain.parts) {
      if (part.bypassed || !(part.kind in tops)) plain.push(part);
      else {
        stages.push(new ChainRunner({ ...emptyChain, parts: plain }, sampleRate, channels));
        stages.push(new MeteredPart(part, sampleRate, channels));
        plain = [];
      }
    }
    // What comes after the last of them changes nothing about them.
    this.#stages = stages;
  }

  process(block: readonly Float32Array[]): void {
    if (this.#stages.length === 0) return;
    const own = block.map((samples) => samples.slice());
    for (const stage of this.#stages) stage.process(own);
  }

  finish(): Reduction[] {
    return this.#stages.flatMap((stage) => (stage instanceof MeteredPart ? [stage.finish()] : []));
  }
}

/** The gain of each kind while it takes nothing away. */
const tops = {
  limiter: ({ gainDb }: Record<string, number>) => 10 ** (gainDb / 20),
  compressor: ({ mixPercent, makeUpDb }: Record<string, number>) =>
    1 - mixPercent / 100 + (mixPercent / 100) * 10 ** (makeUpDb / 20),
};

class MeteredPart {
  readonly #part: ChainPart;
  readonly #runner: ChainRunner;
  readonly #delay: Delay;
  readonly #top: number;
  readonly #stepFrames: number;
  /** Samples still to be passed over, because they are the part's latency. */
  #skip: number;
  #least = 1;
  #inStep = 0;
  readonly #leasts: number[] = [];

  constructor(part: ChainPart, sampleRate: number, channels: number) {
    this.#part = part;
    this.#runner = new ChainRunner({ ...emptyChain, parts: [part] }, sampleRate, channels);
    this.#skip = this.#runner.latencySamples;
    this.#delay = new Delay(this.#skip, channels);
    this.#top = tops[part.kind as keyof typeof tops](part.settings as Record<string, number>);
    this.#stepFrames = Math.round(stepSeconds * sampleRate);
  }

  process(block: readonly Float32Array[]): void {
    const before = block.map((samples) => samples.slice());
    this.#delay.process(before);
    this.#runner.process(block);
    const [dry, wet] = this.#seen(before, block);
    for (let i = 0; i < block[0].length; i++) {
      if (this.#skip > 0) {
        this.#skip--;
        continue;
      }
      for (let c = 0; c < dry.length; c++) {
        if (Math.abs(dry[c][i]) < leastSample) continue;
        const gain = Math.abs(wet[c][i] / dry[c][i]) / this.#top;
        if (gain < this.#least) this.#least = gain;
      }
      if (++this.#inStep === this.#stepFrames) this.#close();
    }
  }

  finish(): Reduction {
    if (this.#inStep > 0) this.#close();
    const reductionDb = this.#leasts.map(
      (gain) => Math.round(100 * Math.max(-60, 20 * Math.log10(Math.max(1e-9, gain)))) / 100,
    );
    return {
      partId: this.#part.id,
      stepSeconds,
      // Rounding makes -0 of what is next to nothing.
      reductionDb: reductionDb.map((db) => (db === 0 ? 0 : db)),
      mostDb: reductionDb.reduce((most, db) => Math.min(most, db), 0),
      busyShare:
        reductionDb.length === 0 ? 0 : reductionDb.filter((db) => db <= -busyDb).length / reductionDb.length,
    };
  }

  #close(): void {
    this.#leasts.push(this.#least);
    this.#least = 1;
    this.#inStep = 0;
  }

  /** The signals that the part acts on, before and after: channels, or mid or side alone. */
  #seen(
    before: readonly Float32Array[],
    after: readonly Float32Array[],
  ): readonly [Float32Array[], Float32Array[]] {
    const { on } = this.#part.settings;
    if (before.length < 2 || (on !== 'mid' && on !== 'side')) return [[...before], [...after]];
    const sign = on === 'mid' ? 1 : -1;
    const fold = ([left, right]: readonly Float32Array[]) => left.map((x, i) => (x + sign * right[i]) / 2);
    return [[fold(before)], [fold(after)]];
  }
}
