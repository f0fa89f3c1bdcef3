import type { Pcm } from '../pcm.ts';
import type { Run } from '../run.ts';
import type { SoundInfo, SoundTags } from '../sound-info.ts';
import { openSoundStream } from '../sound-stream.ts';
import { openFileSource } from './file-source.ts';
import { readTags } from './read-tags.ts';

/** A sound file that was recognised and can be read. Close it when done. */
export interface OpenSound {
  /** After `blocks` has run to its end: with the true number of frames, and warnings about what was met on the way. */
  readonly info: SoundInfo;
  /** Tags under common names; none where they cannot be read. */
  tags(): Promise<SoundTags>;
  /**
   * The sound from its beginning, in blocks of 1 to 65536 frames. Every block has arrays (and buffers) of its own,
   * so it may be kept or transferred to another thread. May be called again to start over; not two at a time.
   * Throws CodedError: SOUND_NOT_NUMBERS, SOUND_DAMAGED, FILE_READ_FAILED; `signal.reason` when cancelled.
   */
  blocks(run?: Run): AsyncGenerator<Pcm>;
  /** The same, but every block is only lent: its arrays may hold the next one once that is asked for. */
  lentBlocks(run?: Run): AsyncGenerator<Pcm>;
  close(): Promise<void>;
}

/**
 * Opens a sound file: WAV, RF64, BW64, AIFF, AIFF-C, FLAC, ALAC or AAC in MP4, AAC (ADTS), MP3, Ogg Vorbis, Ogg Opus,
 * told apart by their contents. Throws CodedError with one sentence that names the file.
 */
export async function openSound(path: string, run?: Run): Promise<OpenSound> {
  run?.signal?.throwIfAborted();
  const source = await openFileSource(path);
  try {
    const stream = await openSoundStream(source);
    return {
      get info() {
        return stream.info;
      },
      tags: () => readTags(path, stream.info.container),
      blocks: (blocksRun) => stream.blocks(blocksRun),
      lentBlocks: (blocksRun) => stream.blocks(blocksRun, true),
      close: () => source.close(),
    };
  } catch (error) {
    await source.close();
    throw error;
  }
}
