import type { ByteSource } from './byte-source.ts';
import type { Pcm } from './pcm.ts';
import type { PcmLayout } from './pcm-layout.ts';
import type { Run } from './run.ts';
import { bytesPerSample, decodeSamples } from './sample-coding.ts';

/** Most frames in one block of streamed sound. */
export const blockFrames = 65536;

/** Reads uncompressed sound as blocks of up to 65536 frames, each in fresh arrays; memory does not grow with length. */
export async function* readPcmBlocks(source: ByteSource, layout: PcmLayout, run?: Run): AsyncGenerator<Pcm> {
  const { channels, sampleRate } = layout.info;
  const blockBytes = blockFrames * channels * bytesPerSample[layout.coding];
  for (let done = 0; done < layout.dataBytes; ) {
    run?.signal?.throwIfAborted();
    const bytes = await source.read(layout.dataStart + done, Math.min(blockBytes, layout.dataBytes - done));
    if (bytes.length === 0) return; // the file shrank while it was read
    yield { sampleRate, channels: decodeSamples(bytes, layout.coding, channels, layout.littleEndian) };
    done += bytes.length;
    run?.progress?.(Math.min(1, done / layout.dataBytes));
  }
}
