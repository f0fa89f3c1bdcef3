import { frameCount, type Pcm, slicePcm } from '../../audio/pcm.ts';
import { fadeGain } from '../../finish/fades.ts';

type Blocks = AsyncIterable<Pcm> | Iterable<Pcm>;

/** What is done to the ends of a song. */
export interface Ends {
  readonly cutHeadSeconds: number;
  readonly cutTailSeconds: number;
  readonly fadeInSeconds: number;
  readonly fadeInShape: Parameters<typeof fadeGain>[0];
  readonly fadeOutSeconds: number;
  readonly fadeOutShape: Parameters<typeof fadeGain>[0];
}

/** Frames that are left of a sound between its cuts: [from, to). Empty where they take all of it. */
export function framesLeft(
  { cutHeadSeconds, cutTailSeconds }: Ends,
  frames: number,
  sampleRate: number,
): { readonly from: number; readonly to: number } {
  const from = Math.min(frames, Math.round(cutHeadSeconds * sampleRate));
  return { from, to: Math.max(from, frames - Math.round(cutTailSeconds * sampleRate)) };
}

/** Frames [from, to) of a sound, as views of its blocks. */
export async function* between(blocks: Blocks, from: number, to: number): AsyncGenerator<Pcm> {
  let at = 0;
  for await (const block of blocks) {
    const length = frameCount(block);
    const [start, end] = [Math.max(0, from - at), Math.min(length, to - at)];
    if (end > start) yield start === 0 && end === length ? block : slicePcm(block, start, end);
    at += length;
    if (at >= to) return;
  }
}

/** The same sound with its ends faded; blocks that are not touched are handed on as they are. */
export async function* faded(
  blocks: Blocks,
  { fadeInSeconds, fadeInShape, fadeOutSeconds, fadeOutShape }: Ends,
  frames: number,
): AsyncGenerator<Pcm> {
  let at = 0;
  for await (const block of blocks) {
    const length = frameCount(block);
    const fadeIn = Math.min(frames, Math.round(fadeInSeconds * block.sampleRate));
    const fadeOut = Math.min(frames, Math.round(fadeOutSeconds * block.sampleRate));
    if (at >= fadeIn && at + length <= frames - fadeOut) yield block;
    else {
      const channels = block.channels.map((samples) => samples.slice());
      for (let i = 0; i < length; i++) {
        const place = at + i;
        let gain = place < fadeIn ? fadeGain(fadeInShape, place / fadeIn) : 1;
        if (place >= frames - fadeOut) gain *= fadeGain(fadeOutShape, (frames - 1 - place) / fadeOut);
        if (gain !== 1) for (const samples of channels) samples[i] *= gain;
      }
      yield { sampleRate: block.sampleRate, channels };
    }
    at += length;
  }
}
