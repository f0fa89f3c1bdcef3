import type { ByteSource } from './byte-source.ts';
import type { Pcm } from './pcm.ts';
import type { PcmLayout } from './pcm-layout.ts';
import type { Run } from './run.ts';
import { bytesPerSample } from './sample-coding.ts';
import { SampleUnpacker } from './sample-unpacker.ts';

/** Most frames in one block of streamed sound. */
export const blockFrames = 65536;

/**
 * Reads uncompressed sound as blocks of up to 65536 frames; memory does not grow with length. The disk is asked for the
 * next block before this one is handed out.
 * @param lent whether a block's arrays may be filled anew once the next one is asked for; otherwise each has its own
 */
export async function* readPcmBlocks(
  source: ByteSource,
  layout: PcmLayout,
  run?: Run,
  lent = false,
): AsyncGenerator<Pcm> {
  const { channels, sampleRate } = layout.info;
  const blockBytes = blockFrames * channels * bytesPerSample[layout.coding];
  const unpacker = new SampleUnpacker(layout, Math.min(blockFrames, layout.info.frames ?? blockFrames));
  // One is taken apart while the other is filled.
  const rooms = [0, 1].map(() => new Uint8Array(Math.min(blockBytes, layout.dataBytes)));
  const ask = (done: number) => {
    const length = Math.min(blockBytes, layout.dataBytes - done);
    const bytes = source.read(layout.dataStart + done, length, rooms[(done / blockBytes) % 2]);
    // Nobody may come back for it.
    bytes.catch(() => {});
    return bytes;
  };
  let next = ask(0);
  try {
    for (let done = 0; done < layout.dataBytes; ) {
      run?.signal?.throwIfAborted();
      const bytes = await next;
      if (bytes.length === 0) return; // the file shrank while it was read
      done += bytes.length;
      if (done < layout.dataBytes) next = ask(done);
      yield { sampleRate, channels: unpacker.unpack(bytes, lent) };
      run?.progress?.(Math.min(1, done / layout.dataBytes));
    }
  } finally {
    // The source may be closed as soon as the reader is done with.
    await next.catch(() => {});
  }
}
