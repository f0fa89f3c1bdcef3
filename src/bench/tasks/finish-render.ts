import { stat } from 'node:fs/promises';
import { hashFile } from '../../audio/files/hash-file.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { writeWavBlocks } from '../../audio/files/write-sound.ts';
import type { Pcm } from '../../audio/pcm.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import type { WrittenCoding } from '../../audio/sample-coding.ts';
import type { Chain } from '../../finish/chain.ts';
import { type DriveFound, findDrive } from '../../finish/find-drive.ts';
import { drivenTail, driveOf, splitTail, type WrittenBits, withoutDither } from '../../finish/finish-plan.ts';
import { type LimitingCost, LimitingCostMeter } from '../../finish/limiting-cost.ts';
import { renderChain, renderedRate } from '../../finish/render.ts';
import { SoundLevelMeter, type SoundLevels } from '../../measure/sound-levels.ts';
import { metered } from './finish-head.ts';
import type { Task } from './task.ts';

export interface FinishRenderOptions {
  /** What a person calls the file, for errors. */
  readonly name: string;
  /** Parts before the limiter; none when the file has been through them. */
  readonly head: Chain;
  /** The limiter, when there is one, and what comes after it. */
  readonly tail: Chain;
  /** Searches the drive at which the result has this loudness, under this ceiling; null: the tail is rendered as it is. */
  readonly search: {
    readonly targetLufs: number;
    readonly guessDb: number;
    readonly ceilingDbtp: number;
    /** Of the trim that may have to stand before the limiter. */
    readonly trimId: string;
  } | null;
  readonly bits: WrittenBits;
  /** Whether to find out what the limiter costs. */
  readonly cost: boolean;
  readonly outPath: string;
}

export interface FinishRendered {
  /** Of the file that was read. */
  readonly source: SoundLevels & { readonly sampleRate: number; readonly channels: number };
  /** The tail as it was rendered. */
  readonly tail: Chain;
  readonly drive: DriveFound | null;
  /** Of what was written: hashed as it lies on the disk. */
  readonly made: SoundLevels & {
    readonly sampleRate: number;
    readonly sha256: string;
    readonly bytes: number;
  };
  readonly cost: LimitingCost | null;
}

/** A loudness that cannot be had: the nearest that was found, null for a sound without one. Nothing was written. */
export interface SearchFailed {
  readonly failed: DriveFound | null;
}

const codings: Readonly<Record<WrittenBits, WrittenCoding>> = { '16': 's16', '24': 's24', '32f': 'f32' };

/**
 * Renders a file through a chain into a WAV file, in little memory however long it is. Where a loudness is asked for, the limiter's
 * drive is searched first; when it cannot be reached, nothing is written.
 * Writes a file, so that what it answers is not to be kept by itself.
 */
export const finishRenderTask: Task<FinishRenderOptions, FinishRendered | SearchFailed> = {
  name: 'finish-render',
  version: 1,
  timeLimitSeconds: 2 * 60 * 60,
  async run({ files: [file], options }, run) {
    const sound = await openSound(file.path, run);
    try {
      const blocks = (part: Run) => sound.blocks({ signal: part.signal });
      const { sampleRate, channels } = sound.info;
      const format = { sampleRate, channels, frames: sound.info.frames ?? 0 };
      if (!options.search) return await write(blocks, format, options.tail, null, options, run);
      const drive = await searched(blocks, format, options, options.search, partOfRun(run, 0, 0.6));
      if (!drive?.reached) return { failed: drive };
      const tail = drivenTail(options.tail, drive.driveDb, options.search.ceilingDbtp, options.search.trimId);
      return await write(blocks, format, tail, drive, options, partOfRun(run, 0.6, 1));
    } finally {
      await sound.close();
    }
  },
};

type Blocks = (run: Run) => AsyncIterable<Pcm>;
interface Format {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
}

/** Tries the limiter at one drive after the other, without the rounding at the end, which no loudness hears. */
function searched(
  blocks: Blocks,
  { sampleRate, channels, frames }: Format,
  { head, tail, name }: FinishRenderOptions,
  { targetLufs, guessDb, ceilingDbtp, trimId }: NonNullable<FinishRenderOptions['search']>,
  run: Run,
): Promise<DriveFound | null> {
  const rate = renderedRate(head, sampleRate);
  const loudnessAt = async (driveDb: number, round: Run): Promise<number | null> => {
    const chain = withoutDither(drivenTail(tail, driveDb, ceilingDbtp, trimId));
    const meter = new SoundLevelMeter(rate, channels, false);
    const before = renderChain(head, blocks(round), { name, frames }, { signal: round.signal });
    for await (const block of renderChain(chain, before, { name, frames }, { signal: round.signal }))
      meter.push(block);
    return meter.finish().integratedLufs;
  };
  return findDrive(targetLufs, guessDb, loudnessAt, run);
}

async function write(
  blocks: Blocks,
  { sampleRate, channels, frames }: Format,
  tail: Chain,
  drive: DriveFound | null,
  { head, name, bits, cost: wantsCost, outPath }: FinishRenderOptions,
  run: Run,
): Promise<FinishRendered> {
  const rate = renderedRate(head, sampleRate);
  const { limiting, rest } = splitTail(tail);
  const source = new SoundLevelMeter(sampleRate, channels);
  const made = new SoundLevelMeter(rate, channels);
  const cost =
    wantsCost && limiting.parts.length > 0 ? new LimitingCostMeter(rate, channels, driveOf(limiting)) : null;
  const quiet = { signal: run.signal };
  const about = { name, frames };
  let sound: AsyncIterable<Pcm> = renderChain(
    head,
    metered(blocks(run), source),
    about,
    partOfRun(run, 0, 0.9),
  );
  if (cost) sound = metered(sound, { push: (block) => cost.pushBefore(block) });
  sound = renderChain(limiting, sound, about, quiet);
  if (cost) sound = metered(sound, { push: (block) => cost.pushAfter(block) });
  sound = metered(renderChain(rest, sound, about, quiet), made);
  await writeWavBlocks(
    outPath,
    {
      sampleRate: rate,
      channels,
      frames: Math.ceil((frames * rate) / sampleRate),
      sampleFormat: codings[bits],
    },
    sound,
    quiet,
  );
  const [sha256, { size: bytes }] = await Promise.all([hashFile(outPath), stat(outPath)]);
  return {
    source: { ...source.finish(), sampleRate, channels },
    tail,
    drive,
    made: { ...made.finish(), sampleRate: rate, sha256, bytes },
    cost: cost?.finish() ?? null,
  };
}
