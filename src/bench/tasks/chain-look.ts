import { frameCount } from '../../audio/pcm.ts';
import type { Chain } from '../../finish/chain.ts';
import { ChainRunner } from '../../finish/chain-runner.ts';
import { type Reduction, ReductionLook } from '../../finish/reductions.ts';
import type { Task } from './task.ts';
import { withSound } from './thread-sound.ts';

export interface ChainLook {
  readonly reductions: Reduction[];
  /** By how much the chain is late while it is played, ms. */
  readonly latencyMs: number;
}

/** Sends a song through a chain and reads off what its limiters and compressors take away. */
export const chainLookTask: Task<{ readonly chain: Chain }, ChainLook> = {
  name: 'chain-look',
  version: 1,
  timeLimitSeconds: 30 * 60,
  async run({ files: [file], options: { chain } }, run) {
    return withSound(file, run, async ({ sampleRate, channels, frames, blocks }, inside) => {
      const look = new ReductionLook(chain, sampleRate, channels);
      let done = 0;
      for await (const block of blocks()) {
        // A held sound is one block as long as the song.
        for (let at = 0; at < frameCount(block); at += piece) {
          inside.signal?.throwIfAborted();
          look.process(block.channels.map((samples) => samples.subarray(at, at + piece)));
          done += Math.min(piece, frameCount(block) - at);
          inside.progress?.(frames ? Math.min(1, done / frames) : 0);
        }
      }
      const { latencySamples } = new ChainRunner(chain, sampleRate, channels);
      return { reductions: look.finish(), latencyMs: (1000 * latencySamples) / sampleRate };
    });
  },
};

const piece = 1 << 15;
