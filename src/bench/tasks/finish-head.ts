import { openSound } from '../../audio/files/open-sound.ts';
import { writeWavBlocks } from '../../audio/files/write-sound.ts';
import type { Pcm } from '../../audio/pcm.ts';
import type { Chain } from '../../finish/chain.ts';
import { renderChain, renderedRate } from '../../finish/render.ts';
import { SoundLevelMeter, type SoundLevels } from '../../measure/sound-levels.ts';
import type { Task } from './task.ts';

export interface FinishHeadOptions {
  /** The parts before the limiter. */
  readonly chain: Chain;
  /** What a person calls the file, for errors. */
  readonly name: string;
  /** Where the sound is written to, as WAV of 32-bit floats. */
  readonly outPath: string;
}

export interface FinishHead {
  /** Of the file as it came. */
  readonly source: SoundLevels & { readonly sampleRate: number; readonly channels: number };
  /** Of what reaches the limiter. */
  readonly integratedLufs: number | null;
}

/**
 * Renders what of a chain comes before its limiter, once, so that the limiter can be tried at many settings. Writes a file, so
 * that what it answers is not to be kept.
 */
export const finishHeadTask: Task<FinishHeadOptions, FinishHead> = {
  name: 'finish-head',
  version: 1,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options: { chain, name, outPath } }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, channels } = sound.info;
      const frames = sound.info.frames ?? 0;
      const rate = renderedRate(chain, sampleRate);
      const source = new SoundLevelMeter(sampleRate, channels);
      const head = new SoundLevelMeter(rate, channels, false);
      const rendered = renderChain(
        chain,
        metered(sound.blocks({ signal: run.signal }), source),
        { name, frames },
        run,
      );
      await writeWavBlocks(
        outPath,
        {
          sampleRate: rate,
          channels,
          frames: Math.ceil((frames * rate) / sampleRate),
          sampleFormat: 'f32',
        },
        metered(rendered, head),
        { signal: run.signal },
      );
      const { integratedLufs } = head.finish();
      return { source: { ...source.finish(), sampleRate, channels }, integratedLufs };
    } finally {
      await sound.close();
    }
  },
};

/** The same blocks, each told to whoever measures. */
export async function* metered(
  blocks: AsyncIterable<Pcm> | Iterable<Pcm>,
  ...meters: readonly { push(block: Pcm): void }[]
): AsyncGenerator<Pcm> {
  for await (const block of blocks) {
    for (const meter of meters) meter.push(block);
    yield block;
  }
}
