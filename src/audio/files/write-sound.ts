import { randomUUID } from 'node:crypto';
import { open, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { wavHeader } from '../encode-wav.ts';
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
  const coding = options.sampleFormat;
  const frames = frameCount(pcm);
  const temporary = join(dirname(path), `.${randomUUID()}.part`);
  try {
    const file = await open(temporary, 'wx');
    try {
      await file.writeFile(wavHeader(pcm.sampleRate, pcm.channels.length, frames, coding));
      let odd = 0;
      for (let at = 0; at < frames; at += blockFrames) {
        run?.signal?.throwIfAborted();
        const end = Math.min(frames, at + blockFrames);
        const bytes = encodeSamples(pcm.channels, coding, at, end);
        odd ^= bytes.length & 1;
        await file.writeFile(bytes);
        run?.progress?.(end / frames);
      }
      if (odd) await file.writeFile(new Uint8Array(1));
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
async function syncFolder(path: string): Promise<void> {
  try {
    const folder = await open(path, 'r');
    await folder.sync().finally(() => folder.close());
  } catch {
    // The file's bytes are on the disk already.
  }
}
