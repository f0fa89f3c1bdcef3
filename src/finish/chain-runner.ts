import { CodedError } from '../audio/coded-error.ts';
import { type Chain, type ChainPart, kindOf } from './chain.ts';
import { Delay } from './delay.ts';
import { type Format, mostFrames, type Part, partRates } from './part.ts';
import type { SettingValues } from './settings.ts';
import { type Engine, Successor } from './successor.ts';

/** Louder than this (+120 dBFS) is no sound; nor is what is no number. Both are made harmless at the entrance. */
const loudest = 1e6;

/**
 * A chain at work: takes blocks of any size, in place. The same in an AudioWorklet and offline; what comes out does not
 * depend on how the sound was cut. Samples that are no finite number become silence, those beyond +-1e6 stay there. A rate
 * converter passes everything here; `renderChain` serves it.
 *
 * Throws CHAIN_UNSUITABLE outside 22.05 to 192 kHz and for more than two channels.
 */
export class ChainRunner {
  readonly #format: Omit<Format, 'lateSamples'>;
  readonly #engines: Successor<ChainEngine>;
  #chain: Chain;
  #latest: ChainEngine;

  constructor(chain: Chain, sampleRate: number, channels: number) {
    checkFormat(sampleRate, channels);
    this.#format = { sampleRate, channels };
    this.#chain = chain;
    this.#latest = new ChainEngine(chain.parts, this.#format);
    this.#engines = new Successor(this.#latest, sampleRate, channels);
  }

  /** Samples by which the output is late. */
  get latencySamples(): number {
    return this.#latest.latencySamples;
  }

  /** After this many samples of silence nothing is left. */
  get tailSamples(): number {
    return this.#latest.tailSamples;
  }

  /**
   * Another chain from the next sample on. Changed settings glide; parts added, removed, moved or bypassed are cross-faded.
   * Where that changes the latency, the sound moves by as much.
   */
  follow(chain: Chain): void {
    const before = this.#chain;
    this.#chain = chain;
    if (sameParts(before, chain)) {
      this.#latest.follow(before.parts, chain.parts);
      return;
    }
    this.#latest = new ChainEngine(chain.parts, this.#format);
    this.#engines.follow(this.#latest, 2 * this.#latest.latencySamples);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    for (const samples of block) makeSafe(samples);
    for (let at = 0; at < frames; at += mostFrames)
      this.#engines.process(
        frames <= mostFrames ? block : block.map((samples) => samples.subarray(at, at + mostFrames)),
      );
  }

  reset(): void {
    this.#engines.reset();
  }
}

function checkFormat(sampleRate: number, channels: number): void {
  const { lowest, highest } = partRates;
  if (!(sampleRate >= lowest && sampleRate <= highest))
    throw new CodedError(
      'CHAIN_UNSUITABLE',
      `A chain works at ${lowest} to ${highest} Hz, not at ${sampleRate} Hz: convert the sound first.`,
    );
  if (channels !== 1 && channels !== 2)
    throw new CodedError('CHAIN_UNSUITABLE', `A chain works on one or two channels, not on ${channels}.`);
}

function makeSafe(samples: Float32Array): void {
  for (let i = 0; i < samples.length; i++) {
    const x = samples[i];
    // False for NaN as well.
    if (x <= loudest && x >= -loudest) continue;
    samples[i] = Number.isFinite(x) ? Math.sign(x) * loudest : 0;
  }
}

/** Whether the one chain's parts can take the other's settings as they are. */
function sameParts(before: Chain, after: Chain): boolean {
  return (
    before.parts.length === after.parts.length &&
    before.parts.every((part, i) => {
      const now = after.parts[i];
      const same = part.id === now.id && part.kind === now.kind && part.bypassed === now.bypassed;
      return same && kindOf(part.kind).canFollow(part.settings, now.settings);
    })
  );
}

/** The parts of one chain. */
class ChainEngine implements Engine {
  readonly latencySamples: number;
  readonly tailSamples: number;
  readonly #parts: readonly (Part<SettingValues> | Bypass)[];

  constructor(parts: readonly ChainPart[], format: Omit<Format, 'lateSamples'>) {
    let late = 0;
    this.#parts = parts.map(({ kind, settings, bypassed }) => {
      const part = kindOf(kind).prepare(settings, { ...format, lateSamples: late });
      late += part.latencySamples;
      return bypassed ? new Bypass(part, format.channels) : part;
    });
    this.latencySamples = late;
    this.tailSamples = this.#parts.reduce((sum, { tailSamples }) => sum + tailSamples, 0);
  }

  follow(before: readonly ChainPart[], after: readonly ChainPart[]): void {
    after.forEach(({ settings }, i) => {
      if (before[i].settings !== settings) this.#parts[i].set(settings);
    });
  }

  process(block: readonly Float32Array[]): void {
    for (const part of this.#parts) part.process(block);
  }

  reset(): void {
    for (const part of this.#parts) part.reset();
  }
}

/** In place of a part: as late as it would be, so that passing it by does not move the sound. */
class Bypass {
  readonly latencySamples: number;
  readonly tailSamples: number;
  readonly #delay: Delay;

  constructor({ latencySamples }: Part<SettingValues>, channels: number) {
    this.latencySamples = latencySamples;
    this.tailSamples = latencySamples;
    this.#delay = new Delay(latencySamples, channels);
  }

  process(block: readonly Float32Array[]): void {
    this.#delay.process(block);
  }

  set(): void {}

  reset(): void {
    this.#delay.reset();
  }
}
