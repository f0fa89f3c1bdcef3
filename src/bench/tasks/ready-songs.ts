import { openSound } from '../../audio/files/open-sound.ts';
import { writeWavBlocks } from '../../audio/files/write-sound.ts';
import { foldToStereo } from '../../audio/fold-stereo.ts';
import { frameCount, type Pcm } from '../../audio/pcm.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import { between, type Ends, faded, framesLeft } from '../../deliver/assembly/ready-blocks.ts';
import { type Chain, emptyChain } from '../../finish/chain.ts';
import { renderChain, renderedRate } from '../../finish/render.ts';
import type { Task, TaskFile } from './task.ts';

export interface ReadySongsOptions {
  /** Of each file: what is done to its ends, its true length, and where it is written. */
  readonly songs: readonly (Ends & { readonly frames: number; readonly outPath: string })[];
  /** One for all of them: songs that are joined go through it as one sound. */
  readonly chain: Chain | null;
}

/**
 * Makes songs ready for a record: cut, through the chain, faded; each a WAV of floats. Several files are one sound that is cut
 * where one song ends and the next begins. The result says what lies on the disk, so it is not to be kept.
 */
export const readySongsTask: Task<ReadySongsOptions, null> = {
  name: 'ready-songs',
  version: 1,
  timeLimitSeconds: 60 * 60,
  async run({ files, options: { songs, chain } }, run) {
    const rates = await Promise.all(files.map(({ path }) => rateOf(path)));
    const cuts = songs.map((song, i) => framesLeft(song, song.frames, rates[i]));
    const lengths = cuts.map(({ from, to }) => to - from);
    const total = lengths.reduce((sum, length) => sum + length, 0);
    const used = chain ?? emptyChain;
    const rate = renderedRate(used, rates[0]);
    const cutter = new Cutter(
      renderChain(
        used,
        inARow(files, cuts, run),
        { name: 'the song', frames: total },
        partOfRun(run, 0, 0.98),
      ),
    );
    let done = 0;
    try {
      for (const [i, song] of songs.entries()) {
        const from = Math.round((done * rate) / rates[0]);
        done += lengths[i];
        const to = i === songs.length - 1 ? Number.POSITIVE_INFINITY : Math.round((done * rate) / rates[0]);
        const expected = Math.round((done * rate) / rates[0]) - from;
        await writeWavBlocks(
          song.outPath,
          { sampleRate: rate, channels: 2, frames: expected, sampleFormat: 'f32' },
          faded(cutter.take(to - from), song, expected),
          { signal: run.signal },
        );
      }
    } finally {
      await cutter.close();
    }
    run.progress?.(1);
    return null;
  },
};

async function rateOf(path: string): Promise<number> {
  const { info, close } = await openSound(path);
  await close();
  return info.sampleRate;
}

async function* inARow(
  files: readonly TaskFile[],
  cuts: readonly { from: number; to: number }[],
  run: Run,
): AsyncGenerator<Pcm> {
  for (const [i, { path }] of files.entries()) {
    const sound = await openSound(path, run);
    try {
      for await (const block of between(sound.blocks({ signal: run.signal }), cuts[i].from, cuts[i].to))
        yield foldToStereo(block);
    } finally {
      await sound.close();
    }
  }
}

/** A sound that is handed out in stretches, one after the other. */
export class Cutter {
  readonly #blocks: AsyncGenerator<Pcm>;
  #rest: Pcm | null = null;

  constructor(blocks: AsyncGenerator<Pcm>) {
    this.#blocks = blocks;
  }

  /** The next `frames`, fewer where the sound ends. To be read to its end before the next is asked for. */
  async *take(frames: number): AsyncGenerator<Pcm> {
    for (let left = frames; left > 0; ) {
      const block = this.#rest ?? (await this.#next());
      this.#rest = null;
      if (!block) return;
      const length = frameCount(block);
      if (length <= left) {
        left -= length;
        yield block;
        continue;
      }
      const cut = (from: number, to: number): Pcm => ({
        sampleRate: block.sampleRate,
        channels: block.channels.map((samples) => samples.subarray(from, to)),
      });
      this.#rest = cut(left, length);
      const last = cut(0, left);
      left = 0;
      yield last;
    }
  }

  /** Lets go of the sound, wherever it is. */
  async close(): Promise<void> {
    await this.#blocks.return(undefined);
  }

  async #next(): Promise<Pcm | null> {
    const { value, done } = await this.#blocks.next();
    return done ? null : value;
  }
}
