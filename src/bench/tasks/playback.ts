import { type FileHandle, open } from 'node:fs/promises';
import { openSound } from '../../audio/files/open-sound.ts';
import { foldToStereo } from '../../audio/fold-stereo.ts';
import { Resampler } from '../../signal/resampler.ts';
import { storageError } from '../storage-error.ts';
import type { Task } from './task.ts';

export interface PlaybackOptions {
  /** The device's rate, Hz. */
  readonly rate: number;
  /** Where frame 0 of the timeline lies in the file, s of its own clock. */
  readonly startSeconds: number;
  readonly driftPpm: number;
  /** Turns it over. */
  readonly inverted: boolean;
  /** Frames to write. */
  readonly frames: number;
  /** Where they are written, as they are made: whoever looks can read as far as the file goes. */
  readonly outPath: string;
}

/** A frame of playback data: two 32-bit floats, little-endian. */
export const playbackFrameBytes = 8;

/**
 * Writes a version's sound as the desk plays it: at the device's rate, on the timeline of another version, in two
 * channels. The file is flushed when the task ends. Its result says only that it was done, so it is not to be kept.
 */
export const playbackTask: Task<PlaybackOptions, null> = {
  name: 'playback',
  version: 1,
  timeLimitSeconds: 30 * 60,
  async run({ files: [file], options }, run) {
    const sound = await openSound(file.path, run);
    try {
      const out = await writing(open(options.outPath, 'wx', 0o600));
      try {
        const from = sound.info.sampleRate;
        const resampler = new Resampler({
          from,
          to: options.rate,
          channels: 2,
          start: options.startSeconds * from,
          drift: options.driftPpm / 1e6,
          frames: options.frames,
        });
        let written = 0;
        const write = async (channels: readonly Float32Array[]): Promise<void> => {
          await writeAll(out, interleaved(channels, options.inverted ? -1 : 1));
          written += channels[0].length;
          run.progress?.(written / options.frames);
        };
        for await (const block of sound.blocks({ signal: run.signal })) {
          await write(resampler.push(foldToStereo(block).channels));
          if (written >= options.frames) break;
        }
        await write(resampler.finish());
        await writing(out.sync());
      } finally {
        await out.close();
      }
      return null;
    } finally {
      await sound.close();
    }
  },
};

function interleaved([left, right]: readonly Float32Array[], sign: number): Uint8Array {
  const frames = new Float32Array(2 * left.length);
  for (let i = 0; i < left.length; i++) {
    frames[2 * i] = sign * left[i];
    frames[2 * i + 1] = sign * right[i];
  }
  // Every machine that Node 20 runs on keeps floats little-endian, as the file does.
  return new Uint8Array(frames.buffer);
}

async function writeAll(out: FileHandle, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.length; ) at += (await writing(out.write(bytes, at))).bytesWritten;
}

async function writing<T>(step: Promise<T>): Promise<T> {
  try {
    return await step;
  } catch (error) {
    throw storageError(error, 'The sound for the desk');
  }
}
