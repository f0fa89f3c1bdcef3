import { bextBytes } from '../../audio/bext.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { writeWavBlocks } from '../../audio/files/write-sound.ts';
import { foldToStereo } from '../../audio/fold-stereo.ts';
import { frameCount, type Pcm } from '../../audio/pcm.ts';
import type { Run } from '../../audio/run.ts';
import { albumBlocks } from '../../deliver/assembly/album-blocks.ts';
import type { AlbumPlan } from '../../deliver/assembly/album-plan.ts';
import type { PlannedFile } from '../../deliver/planned-file.ts';
import type { WrittenSound } from '../../deliver/proof/contract.ts';
import { FileMeter } from '../../deliver/proof/file-meter.ts';
import { addPart, emptyChain } from '../../finish/chain.ts';
import { ChainRunner } from '../../finish/chain-runner.ts';
import { SampleDigest } from '../delivery/sample-digest.ts';
import { Cutter } from './ready-songs.ts';
import type { Task, TaskFile } from './task.ts';

export interface AssembleOptions {
  readonly plan: AlbumPlan;
  /** Of each file, dB. */
  readonly gainsDb: readonly number[];
  /** null: floats, for what a lossy encoder is given. */
  readonly bits: 16 | 24 | null;
  readonly dithered: boolean;
  readonly seed: number;
  /** In order, none over another. */
  readonly cuts: readonly (Pick<PlannedFile, 'from' | 'to' | 'bext'> & { readonly path: string })[];
}

/** Of each cut. */
export type Assembled = WrittenSound & { readonly stepPowers: readonly number[] };

const unknownLoudness = {
  integratedLufs: null,
  rangeLu: null,
  maxTruePeakDbtp: null,
  maxMomentaryLufs: null,
  maxShortTermLufs: null,
};

/**
 * Puts a record together from files that are ready and cuts it into plain WAV files, words shortened with dither where asked.
 * The result says what lies on the disk, so it is not to be kept.
 */
export const assembleTask: Task<AssembleOptions, Assembled[]> = {
  name: 'assemble',
  version: 1,
  timeLimitSeconds: 2 * 60 * 60,
  async run({ files, options }, run) {
    const { plan, cuts, bits } = options;
    const shortener = new Shortener(options);
    const cutter = new Cutter(
      shortener.blocks(progressing(openAlbum(plan, files, options.gainsDb, run), plan, run)),
    );
    const made: Assembled[] = [];
    let at = 0;
    try {
      for (const { from, to, path, bext } of cuts) {
        for await (const _skipped of cutter.take(from - at));
        const meter = new FileMeter(plan.sampleRate, 2);
        const digest = bits === null ? null : new SampleDigest(bits, 2);
        shortener.begin();
        await writeWavBlocks(
          path,
          {
            sampleRate: plan.sampleRate,
            channels: 2,
            frames: to - from,
            sampleFormat: bits === null ? 'f32' : `s${bits}`,
            // Room for what is known in the end.
            more: bext ? { id: 'bext', bytes: bextBytes({ ...bext, loudness: unknownLoudness }) } : undefined,
          },
          seen(cutter.take(to - from), meter, digest),
        );
        made.push({
          ...meter.finish(),
          digest: digest?.finish() ?? null,
          errorPower: shortener.errorPower,
        });
        at = to;
      }
    } finally {
      await cutter.close();
    }
    return made;
  },
};

function openAlbum(
  plan: AlbumPlan,
  files: readonly TaskFile[],
  gainsDb: readonly number[],
  run: Run,
): AsyncGenerator<Pcm> {
  return albumBlocks(plan, async function* (song) {
    const sound = await openSound(files[song].path, run);
    const gain = 10 ** (gainsDb[song] / 20);
    try {
      for await (const block of sound.blocks({ signal: run.signal })) {
        const { sampleRate, channels } = foldToStereo(block);
        yield gain === 1
          ? { sampleRate, channels }
          : { sampleRate, channels: channels.map((samples) => samples.map((x) => x * gain)) };
      }
    } finally {
      await sound.close();
    }
  });
}

async function* progressing(
  blocks: AsyncGenerator<Pcm>,
  { frames }: AlbumPlan,
  run: Run,
): AsyncGenerator<Pcm> {
  let done = 0;
  for await (const block of blocks) {
    yield block;
    run.signal?.throwIfAborted();
    done += frameCount(block);
    run.progress?.(done / frames);
  }
}

async function* seen(
  blocks: AsyncGenerator<Pcm>,
  meter: FileMeter,
  digest: SampleDigest | null,
): AsyncGenerator<Pcm> {
  for await (const block of blocks) {
    meter.push(block);
    digest?.push(block);
    yield block;
  }
}

/** Shortens words, one noise for the whole record, and tells what that added since `begin`, in steps squared. */
class Shortener {
  readonly #bits: 16 | 24 | null;
  readonly #dither: ChainRunner | null;
  #power = 0;
  #samples = 0;

  constructor({ bits, dithered, seed, plan }: AssembleOptions) {
    this.#bits = bits;
    this.#dither =
      bits !== null && dithered
        ? new ChainRunner(addPart(emptyChain, 'dither', { bits: String(bits), seed }), plan.sampleRate, 2)
        : null;
  }

  begin(): void {
    this.#power = 0;
    this.#samples = 0;
  }

  get errorPower(): number {
    return this.#samples === 0 ? 0 : this.#power / this.#samples;
  }

  async *blocks(source: AsyncGenerator<Pcm>): AsyncGenerator<Pcm> {
    for await (const block of source) {
      if (this.#bits === null) yield block;
      else yield this.#shortened(block, 2 ** (this.#bits - 1));
    }
  }

  #shortened({ sampleRate, channels }: Pcm, steps: number): Pcm {
    const short = channels.map((samples) => samples.slice());
    this.#dither?.process(short);
    channels.forEach((samples, c) => {
      const out = short[c];
      let power = 0;
      for (let i = 0; i < samples.length; i++) {
        // Without dither the writer rounds; nothing is to be left for it to do.
        const error = (this.#dither ? out[i] : Math.round(out[i] * steps) / steps) - samples[i];
        power += error * error;
      }
      this.#power += power * steps * steps;
      this.#samples += samples.length;
    });
    return { sampleRate, channels: short };
  }
}
