import { checkFinite } from '../audio/check-finite.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import { Resampler } from '../signal/resampler.ts';
import type { Chain, ChainPart } from './chain.ts';
import { ChainRunner } from './chain-runner.ts';

/** A stretch of a chain: takes blocks, gives what is ready. */
interface Stretch {
  push(block: readonly Float32Array[]): readonly Float32Array[];
  finish(): readonly Float32Array[];
}

/** Rate at which a sound of `sampleRate` leaves a chain. */
export function renderedRate(chain: Chain, sampleRate: number): number {
  return chain.parts.reduce((rate, part) => targetRate(part) ?? rate, sampleRate);
}

/**
 * A sound through a chain: as long as it was, in time with what it was (the latency is taken out), block by block in little
 * memory. Throws CHAIN_UNSUITABLE for a rate or channel count that chains do not serve, SOUND_NOT_NUMBERS for samples
 * that are none.
 *
 * @param name of the sound, for errors
 * @param frames of the sound, for the progress
 */
export async function* renderChain(
  chain: Chain,
  blocks: AsyncIterable<Pcm> | Iterable<Pcm>,
  about: { readonly name: string; readonly frames: number },
  run: Run = {},
): AsyncGenerator<Pcm> {
  let stretches: Stretch[] | null = null;
  let rate = 0;
  let taken = 0;
  for await (const block of blocks) {
    run.signal?.throwIfAborted();
    checkFinite(about.name, block, taken);
    stretches ??= stretchesOf(chain, block.sampleRate, block.channels.length);
    rate = renderedRate(chain, block.sampleRate);
    taken += frameCount(block);
    let ready: readonly Float32Array[] = block.channels;
    for (const stretch of stretches) ready = stretch.push(ready);
    if (ready[0].length > 0) yield { sampleRate: rate, channels: ready };
    run.progress?.(Math.min(1, taken / Math.max(1, about.frames)));
  }
  if (!stretches) return;
  // What one stretch still holds goes through those after it.
  for (let s = 0; s < stretches.length; s++) {
    let ready = stretches[s].finish();
    for (const stretch of stretches.slice(s + 1)) ready = stretch.push(ready);
    if (ready[0].length > 0) yield { sampleRate: rate, channels: ready };
  }
  run.progress?.(1);
}

function targetRate({ kind, settings, bypassed }: ChainPart): number | null {
  return kind === 'rate' && !bypassed && settings.hertz !== 'as it is' ? Number(settings.hertz) : null;
}

function stretchesOf(chain: Chain, sampleRate: number, channels: number): Stretch[] {
  const stretches: Stretch[] = [];
  let rate = sampleRate;
  let parts: ChainPart[] = [];
  const close = () => {
    stretches.push(new PartsStretch({ ...chain, parts }, rate, channels));
    parts = [];
  };
  for (const part of chain.parts) {
    const target = targetRate(part);
    if (target === null) parts.push(part);
    else {
      close();
      stretches.push(new Resampler({ from: rate, to: target, channels }));
      rate = target;
    }
  }
  close();
  return stretches;
}

/** Parts between two conversions, without their latency. */
class PartsStretch implements Stretch {
  readonly #runner: ChainRunner;
  readonly #channels: number;
  /** Frames of latency still to be dropped. */
  #drop: number;

  constructor(chain: Chain, sampleRate: number, channels: number) {
    this.#runner = new ChainRunner(chain, sampleRate, channels);
    this.#channels = channels;
    this.#drop = this.#runner.latencySamples;
  }

  push(block: readonly Float32Array[]): readonly Float32Array[] {
    const own = block.map((samples) => samples.slice());
    this.#runner.process(own);
    const dropped = Math.min(this.#drop, own[0].length);
    this.#drop -= dropped;
    return dropped === 0 ? own : own.map((samples) => samples.subarray(dropped));
  }

  finish(): readonly Float32Array[] {
    const silence = Array.from(
      { length: this.#channels },
      () => new Float32Array(this.#runner.latencySamples),
    );
    return this.push(silence);
  }
}
