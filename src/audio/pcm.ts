/**
 * Sound as every floor of the house knows it: planar, floating point, at its own rate.
 *
 * Full scale is +-1.0; values beyond it are legal (decoded lossy streams and float files have them) and are
 * never clipped on the way. All channels have the same length. A stream of sound is a sequence of Pcm blocks
 * that share `sampleRate` and channel count.
 */
export interface Pcm {
  /** Samples per second and channel, Hz, a positive integer. */
  readonly sampleRate: number;
  /** One array a channel, at least one; WAVE order (L, R, C, LFE, Ls, Rs, ...). */
  readonly channels: readonly Float32Array[];
}

/** Number of sample frames (samples per channel). */
export function frameCount(pcm: Pcm): number {
  return pcm.channels[0]?.length ?? 0;
}

/** Length in seconds. */
export function durationSeconds(pcm: Pcm): number {
  return frameCount(pcm) / pcm.sampleRate;
}

/** A view (no copy) of frames [startFrame, endFrame). */
export function slicePcm(pcm: Pcm, startFrame: number, endFrame: number): Pcm {
  return { sampleRate: pcm.sampleRate, channels: pcm.channels.map((c) => c.subarray(startFrame, endFrame)) };
}

/** Joins blocks of equal rate and channel count into one Pcm. Throws RangeError when they do not agree or there is none. */
export function joinPcm(blocks: readonly Pcm[]): Pcm {
  const first = blocks[0];
  if (!first) throw new RangeError('joinPcm needs at least one block');
  const frames = blocks.reduce((sum, block) => sum + frameCount(block), 0);
  const channels = first.channels.map(() => new Float32Array(frames));
  let at = 0;
  for (const block of blocks) {
    if (block.sampleRate !== first.sampleRate || block.channels.length !== channels.length)
      throw new RangeError('joinPcm: blocks differ in rate or channel count');
    block.channels.forEach((samples, c) => {
      channels[c].set(samples, at);
    });
    at += frameCount(block);
  }
  return { sampleRate: first.sampleRate, channels };
}
