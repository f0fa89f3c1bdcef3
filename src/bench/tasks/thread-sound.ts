import { openSound } from '../../audio/files/open-sound.ts';
import { frameCount, joinPcm, type Pcm } from '../../audio/pcm.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import { wholeSamples } from '../../survive/code-pieces.ts';
import type { TaskFile } from './task.ts';

/** A sound of which the blocks can be had any number of times, one after the other. */
export interface ThreadSound {
  readonly sampleRate: number;
  readonly channels: number;
  /** null while unknown. */
  readonly frames: number | null;
  blocks(): AsyncIterable<Pcm> | Iterable<Pcm>;
}

/** The sound this thread read last, by the hash of its file: one song is coded in many formats, and read once. */
let last: { readonly sha256: string; readonly pcm: Pcm } | null = null;

/**
 * Has `use` work on a file's sound: on the one this thread read last, or on a new one, which is kept for the next when
 * it is one that is coded whole. Longer ones stream. `use` must not write into the blocks. Rejects as openSound and
 * `use` do.
 */
export async function withSound<T>(
  file: TaskFile,
  run: Run,
  use: (sound: ThreadSound, run: Run) => Promise<T>,
): Promise<T> {
  if (last && last.sha256 === file.sha256) return use(heldSound(last.pcm), run);
  // Let go of first: two songs at once are not worth their memory.
  last = null;
  const opened = await openSound(file.path, run);
  try {
    const { sampleRate, channels, frames } = opened.info;
    const blocks = () => opened.blocks({ signal: run.signal });
    if (frames === null || frames * channels > wholeSamples)
      return await use({ sampleRate, channels, frames, blocks }, run);
    const parts: Pcm[] = [];
    const reading = partOfRun(run, 0, 0.05);
    let done = 0;
    for await (const block of blocks()) {
      parts.push(block);
      done += frameCount(block);
      reading.progress?.(Math.min(1, done / frames));
    }
    if (parts.length === 0) return await use({ sampleRate, channels, frames: 0, blocks: () => [] }, run);
    const pcm = joinPcm(parts);
    if (file.sha256 !== undefined) last = { sha256: file.sha256, pcm };
    return await use(heldSound(pcm), partOfRun(run, 0.05, 1));
  } finally {
    await opened.close();
  }
}

function heldSound(pcm: Pcm): ThreadSound {
  return {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    frames: frameCount(pcm),
    blocks: () => [pcm],
  };
}
