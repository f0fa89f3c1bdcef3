import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import { instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { SoundFeed } from './sound-feed.ts';

/** Samples (all channels) between two looks at the event loop, so that a cancellation can arrive. */
const breathSamples = 2 ** 21;
/** Frames measured between two looks at the abort signal. */
const strideFrames = 2 ** 16;

/** What must be known before the first block. `frames` serves only to tell progress; null when not known. */
export interface SoundFormat {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number | null;
}

/** Meters that run together over the chunks of a feed. */
export interface Lane {
  take(frames: number, last: boolean): void;
}

/**
 * Sends a sound through meters in one pass. Resolves with its number of frames; rejects with RangeError when the blocks
 * do not agree with `format`, `run.signal.reason` when aborted, and whatever the blocks' iterator or a meter throws.
 *
 * @param make the meters, given what they read from
 */
export async function sendThrough<Meters extends Lane>(
  blocks: Iterable<Pcm> | AsyncIterable<Pcm>,
  format: SoundFormat,
  make: (kernels: Kernels, feed: SoundFeed) => Meters,
  run: Run,
): Promise<{ readonly meters: Meters; readonly frames: number }> {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, format);
  const meters = make(kernels, feed);
  const take = (frames: number, last: boolean) => meters.take(frames, last);
  let sinceBreath = 0;
  for await (const block of blocks) {
    const frames = frameCount(block);
    for (let at = 0; at < frames; at += strideFrames) {
      run.signal?.throwIfAborted();
      const stride = slicePcm(block, at, Math.min(at + strideFrames, frames));
      feed.push(stride, take);
      if (format.frames) run.progress?.(Math.min(1, feed.frames / format.frames));
      sinceBreath += frameCount(stride) * format.channels;
      if (sinceBreath >= breathSamples) {
        sinceBreath = 0;
        await new Promise((resolve) => setImmediate(resolve));
      }
    }
  }
  run.signal?.throwIfAborted();
  feed.finish(take);
  run.progress?.(1);
  return { meters, frames: feed.frames };
}
