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
  readonly #format: Format;
  readonly #engines: Successor<ChainEngine>;
  #chain: Chain;
  #latest: ChainEngine;

  /** @param lateSamples by how much what comes in is late, for parts that act at a time of the song */
  constructor(chain: Chain, sampleRate: number, channels: number, lateSamples = 0) {
    checkFormat(sampleRate, channels);
    this.#format = { sampleRate, channels, lateSamples };
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
    this.#follow(chain, () => true);
  }

  /** Like `follow`, unless that would change the latency: then nothing happens, and the answer is false. */
  followInTime(chain: Chain): boolean {
    return this.#follow(chain, ({ latencySamples }) => latencySamples === this.latencySamples);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    for (const samples of block) makeSafe(samples);
    for (let at = 0; at < frames; at += mostFrames)
      this.#engines.process(
        frames <= mostFrames ? block : block.map((samples) => samples.subarray(at, at + mostFrames)),
      );
  }

  /** As if nothing had been processed yet. @param at which sample of the song comes next */
  reset(at = 0): void {
    this.#engines.reset(at);
  }

  #follow(chain: Chain, suits: (next: ChainEngine) => boolean): boolean {
    const before = this.#chain;
    if (sameParts(before, chain)) this.#latest.follow(before.parts, chain.parts);
    else {
      const next = new ChainEngine(chain.parts, this.#format);
      if (!suits(next)) return false;
      this.#latest = next;
      this.#engines.follow(next, 2 * next.latencySamples);
    }
    this.#chain = chain;
    return true;
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

  constructor(parts: readonly ChainPart[], format: Format) {
    let late = 0;
    this.#parts = parts.map(({ kind, settings, bypassed }) => {
      const part = kindOf(kind).prepare(settings, { ...format, lateSamples: format.lateSamples + late });
      late += part.latencySamples;
      return bypassed ? new Bypass(part, format.channels) : part;
    });
    this.latencySamples = late;
    this.tailSamples = this.#parts.reduce((sum, { tailSamples }) => sum + tailSamples, 0);
  }

  follow(before: readonly ChainPart[], after: readonly ChainPart[]): void {
    after.forEach(({ settings }, i) => {
      // By what they say: a chain that came as a message is the same in other objects.
      if (JSON.stringify(before[i].settings) !== JSON.stringify(settings)) this.#parts[i].set(settings);
    });
  }

  process(block: readonly Float32Array[]): void {
    for (const part of this.#parts) part.process(block);
  }

  reset(at = 0): void {
    for (const part of this.#parts) part.reset(at);
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
