import { openSound } from '../../audio/files/open-sound.ts';
import { frameCount, type Pcm, slicePcm } from '../../audio/pcm.ts';
import type { Chain } from '../../finish/chain.ts';
import { renderChain, renderedRate } from '../../finish/render.ts';
import { SoundLevelMeter } from '../../measure/sound-levels.ts';
import type { Span } from '../../measure/span.ts';
import { metered } from './finish-head.ts';
import type { Task } from './task.ts';

export interface ChainLoudnessOptions {
  readonly chain: Chain;
  /** null: the whole. */
  readonly span: Span | null;
}

export interface ChainLoudness {
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly sourceLufs: number | null;
  readonly sourceTruePeakDbtp: number | null;
}

/** Heard by the chain before a part of a song begins, so that its compressors are where they would be. */
const leadSeconds = 2;

/** How loud a file is after a chain, and before; of the whole or of a part. Nothing is written. */
export const chainLoudnessTask: Task<ChainLoudnessOptions, ChainLoudness> = {
  name: 'chain-loudness',
  version: 1,
  timeLimitSeconds: 30 * 60,
  async run({ files: [file], options: { chain, span } }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, channels } = sound.info;
      const [from, to] = span ? [span.startSeconds, span.endSeconds] : [0, Number.POSITIVE_INFINITY];
      const lead = Math.min(from, leadSeconds);
      const rate = renderedRate(chain, sampleRate);
      const source = new SoundLevelMeter(sampleRate, channels);
      const after = new SoundLevelMeter(rate, channels);
      const part = cut(sound.blocks({ signal: run.signal }), from - lead, to);
      const frames = Math.min(sound.info.frames ?? 0, (to - from + lead) * sampleRate);
      const before = metered(part, tailOf(source, Math.round(lead * sampleRate)));
      const skipping = tailOf(after, Math.round(lead * rate));
      for await (const block of renderChain(chain, before, { name: 'the song', frames }, run))
        skipping.push(block);
      const [made, asIs] = [after.finish(), source.finish()];
      return {
        integratedLufs: made.integratedLufs,
        truePeakDbtp: made.truePeakDbtp,
        sourceLufs: asIs.integratedLufs,
        sourceTruePeakDbtp: asIs.truePeakDbtp,
      };
    } finally {
      await sound.close();
    }
  },
};

/** The blocks of a part of a sound, seconds. */
async function* cut(blocks: AsyncIterable<Pcm>, fromSeconds: number, toSeconds: number): AsyncGenerator<Pcm> {
  let at = 0;
  for await (const block of blocks) {
    const frames = frameCount(block);
    const start = Math.max(0, Math.round(fromSeconds * block.sampleRate) - at);
    const end = Math.min(frames, Math.round(toSeconds * block.sampleRate) - at);
    if (start < end) yield start === 0 && end === frames ? block : slicePcm(block, start, end);
    at += frames;
    if (end < frames) return;
  }
}

/** A meter that is told nothing of the first frames. */
function tailOf(meter: SoundLevelMeter, skip: number): { push(block: Pcm): void } {
  let left = skip;
  return {
    push(block) {
      const frames = frameCount(block);
      const skipped = Math.min(left, frames);
      left -= skipped;
      if (skipped < frames) meter.push(skipped === 0 ? block : slicePcm(block, skipped, frames));
    },
  };
}
