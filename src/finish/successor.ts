import { type Format, mostFrames, type Part } from './part.ts';

/** A processor whose settings are built in: filters with their state. */
export interface Engine {
  process(block: readonly Float32Array[]): void;
  /** @param at which sample of the song comes next; 0 */
  reset(at?: number): void;
}

/** Does nothing. */
export const passing: Engine = { process() {}, reset() {} };

/** The new filters hear the sound this long before they are heard, so that their state is not that of a cold start. */
const warmSeconds = 0.03;
const fadeSeconds = 0.02;

/**
 * Changes one engine for another without a click: the new one runs along unheard, then the two are cross-faded. Unlike
 * moving coefficients of a running filter this is safe for every change (shape, slope, number of bands). Asked again
 * meanwhile, it remembers the last wish and does it next. Engines of the same latency only, or the sound jumps in time.
 */
export class Successor<E extends Engine> {
  readonly #shortest: number;
  readonly #fadeFrames: number;
  readonly #scratch: readonly Float32Array[];
  #current: E;
  #next: E | null = null;
  #wish: { readonly engine: E; readonly memory: number } | null = null;
  #warmFrames: number;
  /** Which sample of the song comes next. */
  #place = 0;
  /** Frames since the next engine began. */
  #age = 0;

  constructor(first: E, sampleRate: number, channels: number) {
    this.#current = first;
    this.#shortest = Math.round(warmSeconds * sampleRate);
    this.#warmFrames = this.#shortest;
    this.#fadeFrames = Math.round(fadeSeconds * sampleRate);
    this.#scratch = Array.from({ length: channels }, () => new Float32Array(mostFrames));
  }

  /** @param memory frames of the past that the engine needs to be itself, where that is long */
  follow(engine: E, memory = 0): void {
    if (this.#next) this.#wish = { engine, memory };
    else this.#begin(engine, memory);
  }

  process(block: readonly Float32Array[]): void {
    const frames = block[0].length;
    let at = 0;
    while (this.#next && at < frames) {
      // Not across the end of the change, so that the next wish begins at its very sample.
      const count = Math.min(frames - at, this.#warmFrames + this.#fadeFrames - this.#age);
      this.#both(
        block.map((samples) => samples.subarray(at, at + count)),
        this.#next,
      );
      at += count;
    }
    if (at === frames) return;
    this.#current.process(at === 0 ? block : block.map((samples) => samples.subarray(at)));
    this.#place += frames - at;
  }

  /** Ends a change at once and forgets the past. @param at which sample of the song comes next */
  reset(at = 0): void {
    this.#place = at;
    this.#current = this.#wish?.engine ?? this.#next ?? this.#current;
    this.#next = null;
    this.#wish = null;
    this.#current.reset(at);
  }

  #begin(engine: E, memory: number): void {
    this.#warmFrames = Math.max(memory, this.#shortest);
    engine.reset(this.#place);
    this.#next = engine;
    this.#age = 0;
  }

  #both(block: readonly Float32Array[], next: E): void {
    const frames = block[0].length;
    const other = this.#scratch.map((room) => room.subarray(0, frames));
    block.forEach((samples, c) => {
      other[c].set(samples);
    });
    this.#current.process(block);
    next.process(other);
    block.forEach((samples, c) => {
      for (let i = 0; i < frames; i++) {
        const share = (this.#age + i + 1 - this.#warmFrames) / this.#fadeFrames;
        if (share > 0) samples[i] += (other[c][i] - samples[i]) * Math.min(1, share);
      }
    });
    this.#age += frames;
    this.#place += frames;
    if (this.#age < this.#warmFrames + this.#fadeFrames) return;
    this.#current = next;
    this.#next = null;
    const wish = this.#wish;
    this.#wish = null;
    if (wish) this.#begin(wish.engine, wish.memory);
  }
}

/** A part whose settings are built into an engine: new ones bring another engine, which succeeds the one before. */
export class SucceedingPart<Settings> implements Part<Settings> {
  readonly latencySamples: number;
  readonly tailSamples: number;
  readonly #engineOf: (settings: Settings) => Engine;
  readonly #engines: Successor<Engine>;

  constructor(
    settings: Settings,
    { sampleRate, channels }: Format,
    engineOf: (settings: Settings) => Engine,
    { latencySamples = 0, tailSamples }: { readonly latencySamples?: number; readonly tailSamples: number },
  ) {
    this.latencySamples = latencySamples;
    this.tailSamples = tailSamples;
    this.#engineOf = engineOf;
    this.#engines = new Successor(engineOf(settings), sampleRate, channels);
  }

  process(block: readonly Float32Array[]): void {
    this.#engines.process(block);
  }

  set(settings: Settings): void {
    this.#engines.follow(this.#engineOf(settings));
  }

  reset(): void {
    this.#engines.reset();
  }
}
