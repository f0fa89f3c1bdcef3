import type { EngineChoice } from '../../audio/files/lossy/engine.ts';
import { writeWavBlocks } from '../../audio/files/write-sound.ts';
import { codedRate } from '../../audio/lossy-rate.ts';
import type { Pcm } from '../../audio/pcm.ts';
import { type CodedPiece, codePieces } from '../../survive/code-pieces.ts';
import type { LossyFormat } from '../../survive/round-trip-result.ts';
import type { Task } from './task.ts';
import { threadEngine } from './thread-engine.ts';
import { withSound } from './thread-sound.ts';

export interface KeepDecodedOptions {
  readonly format: LossyFormat;
  readonly engine: EngineChoice;
  /** The file as it is, 0, or turned down by so much before, dB. */
  readonly trimDb: number;
  readonly outPath: string;
}

/**
 * Writes what a format makes of a file as a WAV of floats at the coded rate: aligned, of its exact length, unclipped.
 * Its result says only that it was done, so it is not to be kept.
 */
export const keepDecodedTask: Task<KeepDecodedOptions, null> = {
  name: 'keep-decoded',
  version: 1,
  timeLimitSeconds: 60 * 60,
  async run({ files: [file], options: { format, engine, trimDb, outPath } }, run) {
    return withSound(file, run, async (sound, part) => {
      const { sampleRate, channels, frames } = sound;
      const rate = codedRate(format.codec, sampleRate);
      const expected = Math.ceil(((frames ?? 0) * rate) / sampleRate);
      await writeWavBlocks(
        outPath,
        { sampleRate: rate, channels, frames: expected, sampleFormat: 'f32' },
        decodedOf(
          codePieces({ ...sound, blocks: sound.blocks() }, format, threadEngine(engine), { trimDb }, part),
        ),
      );
      return null;
    });
  },
};

async function* decodedOf(pieces: AsyncIterable<CodedPiece>): AsyncGenerator<Pcm> {
  for await (const { decoded } of pieces) yield decoded;
}
