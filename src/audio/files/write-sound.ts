import { randomUUID } from 'node:crypto';
import { open, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { type WavChunk, wavHeader } from '../encode-wav.ts';
import { frameCount, type Pcm } from '../pcm.ts';
import { blockFrames } from '../pcm-blocks.ts';
import type { Run } from '../run.ts';
import { encodeSamples, type WrittenCoding } from '../sample-coding.ts';
import { fileError } from './file-error.ts';

/**
 * Writes sound as a WAV file (RF64 when it is over 4 GiB). Floats are stored exactly; integers are rounded to the
 * nearest value with no dither, and what is beyond full scale saturates. The file appears under its name only when
 * it is whole and on the disk (temporary name, fsync, rename); when something fails nothing is left behind.
 * Throws CodedError: DISK_FULL, FILE_NO_PERMISSION, FILE_NOT_FOUND (the folder), FILE_IS_DIRECTORY, FILE_WRITE_FAILED.
 */
export async function writeWav(
  path: string,
  pcm: Pcm,
  options: { readonly sampleFormat: WrittenCoding },
  run?: Run,
): Promise<void> {
  const { sampleRate, channels } = pcm;
  await writeWavBlocks(
    path,
    { sampleRate, channels: channels.length, frames: frameCount(pcm), ...options },
    [pcm],
    run,
  );
}

/**
 * The same for sound that comes in blocks, as which it never needs to be held whole. `frames` is how many are expected;
 * the header tells how many came. Throws what the blocks throw, too.
 */
export async function writeWavBlocks(
  path: string,
  format: {
    readonly sampleRate: number;
    readonly channels: number;
    readonly frames: number;
    readonly sampleFormat: WrittenCoding;
    /** Stands before the samples. */
    readonly more?: WavChunk;
  },
  blocks: Iterable<Pcm> | AsyncIterable<Pcm>,
  run?: Run,
): Promise<void> {
  const { sampleRate, channels, frames, sampleFormat: coding, more } = format;
  const temporary = join(dirname(path), `.${randomUUID()}.part`);
  try {
    const file = await open(temporary, 'wx');
    try {
      const header = wavHeader(sampleRate, channels, frames, coding, more);
      await file.writeFile(header);
      let [odd, written] = [0, 0];
      for await (const block of blocks)
        for (let at = 0; at < frameCount(block); at += blockFrames) {
          run?.signal?.throwIfAborted();
          const end = Math.min(frameCount(block), at + blockFrames);
          const bytes = encodeSamples(block.channels, coding, at, end);
          odd ^= bytes.length & 1;
          await file.writeFile(bytes);
          written += end - at;
          run?.progress?.(Math.min(1, written / frames));
        }
      if (odd) await file.writeFile(new Uint8Array(1));
      if (written !== frames) {
        const told = wavHeader(sampleRate, channels, written, coding, more);
        if (told.length !== header.length) throw new RangeError('the sound passed 4 GiB unannounced');
        await file.write(told, 0, told.length, 0);
      }
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true }).catch(() => undefined);
    throw fileError(error, path, 'write');
  }
  await syncFolder(dirname(path));
}

/** Makes the new name itself survive a power cut. Not every system can open a folder; then there is nothing to do. */
export async function syncFolder(path: string): Promise<void> {
  try {
    const folder = await open(path, 'r');
    await folder.sync().finally(() => folder.close());
  } catch {
    // The file's bytes are on the disk already.
  }
}
