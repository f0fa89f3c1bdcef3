import { createHash } from 'node:crypto';
import type { Run } from '../run.ts';
import { openFileSource } from './file-source.ts';

const stepBytes = 1 << 20;

/** SHA-256 of a file's bytes, lower-case hex; the name a sound goes by. Streamed. Throws CodedError as openSound does. */
export async function hashFile(path: string, run?: Run): Promise<string> {
  const source = await openFileSource(path);
  try {
    const hash = createHash('sha256');
    const room = new Uint8Array(Math.min(stepBytes, source.size));
    for (let at = 0; at < source.size; at += stepBytes) {
      run?.signal?.throwIfAborted();
      hash.update(await source.read(at, stepBytes, room));
      run?.progress?.(Math.min(1, (at + stepBytes) / source.size));
    }
    return hash.digest('hex');
  } finally {
    await source.close();
  }
}
