import type { Chain, ChainPart } from './chain.ts';
import { ChainRunner } from './chain-runner.ts';
import { Delay } from './delay.ts';
import { mostFrames } from './part.ts';

/**
 * What one part of a chain takes away from what the parts before it make of a sound: its input, as late as the part is, less
 * its output. Takes blocks of any size, in place. Silence when the chain has no such part. Throws as ChainRunner does.
 */
export class TakenAway {
  /** Samples by which the output is late. */
  readonly latencySamples: number;
  readonly #partId: string;
  readonly #before: ChainRunner;
  readonly #part: ChainRunner;
  readonly #delay: Delay;
  readonly #scratch: readonly Float32Array[];

  constructor(chain: Chain, partId: string, sampleRate: number, channels: number) {
    this.#partId = partId;
    const { before, part } = split(chain, partId);
    this.#before = new ChainRunner(before, sampleRate, channels);
    const late = this.#before.latencySamples;
    this.#part = new ChainRunner(part, sampleRate, channels, late);
    this.#delay = new Delay(this.#part.latencySamples, channels);
    this.latencySamples = late + this.#part.latencySamples;
    this.#scratch = Array.from({ length: channels }, () => new Float32Array(mostFrames));
  }

  /** Another chain from the next sample on; false, and good for nothing any more, where that would change the latency. */
  followInTime(chain: Chain): boolean {
    const { before, part } = split(chain, this.#partId);
    return this.#before.followInTime(before) && this.#part.followInTime(part);
  }

  process(block: readonly Float32Array[]): void {
    for (let at = 0; at < block[0].length; at += mostFrames)
      this.#work(block.map((samples) => samples.subarray(at, at + mostFrames)));
  }

  /** As if nothing had been processed yet. @param at which sample of the song comes next */
  reset(at = 0): void {
    this.#before.reset(at);
    this.#part.reset(at);
    this.#delay.reset();
  }

  #work(block: readonly Float32Array[]): void {
    this.#before.process(block);
    const through = block.map((samples, c) => {
      const own = this.#scratch[c].subarray(0, samples.length);
      own.set(samples);
      return own;
    });
    this.#part.process(through);
    this.#delay.process(block);
    block.forEach((samples, c) => {
      for (let i = 0; i < samples.length; i++) samples[i] -= through[c][i];
    });
  }
}

function split(chain: Chain, partId: string): { readonly before: Chain; readonly part: Chain } {
  const at = chain.parts.findIndex(({ id }) => id === partId);
  const only = (parts: readonly ChainPart[]): Chain => ({ ...chain, parts });
  return at < 0
    ? { before: only([]), part: only([]) }
    : { before: only(chain.parts.slice(0, at)), part: only(chain.parts.slice(at, at + 1)) };
}
