import { type ByteSource, latin1, viewOf } from './byte-source.ts';

/** One chunk of a RIFF or IFF file. */
export interface Chunk {
  readonly id: string;
  /** First byte of the chunk's contents. */
  readonly start: number;
  /** Size as the header states it, bytes; may be wrong. */
  readonly size: number;
}

/** Chunks looked at before a file counts as damaged: real files have some tens (a limit of ours against endless walks). */
const maxChunks = 4096;

/**
 * Walks the chunks of a RIFF (little-endian sizes) or IFF (big-endian) file from `position`. Chunks start on even
 * places (Microsoft, RIFF: 'padded to an even boundary'; EA IFF 85 likewise); where a writer left the pad byte out
 * the walk finds that and goes on. It ends at the end of the file or at the first thing that is no chunk.
 * `sizeOf` may replace a stated size (RF64 keeps the real ones elsewhere).
 */
export async function* walkChunks(
  source: ByteSource,
  position: number,
  littleEndian: boolean,
  sizeOf: (id: string, stated: number) => number = (_, stated) => stated,
): AsyncGenerator<Chunk> {
  let at = position;
  let padded = false;
  for (let count = 0; count < maxChunks; count++) {
    let head = await source.read(at, 8);
    if (padded && !isChunkId(head)) {
      at -= 1;
      head = await source.read(at, 8);
    }
    if (head.length < 8 || !isChunkId(head)) return;
    const id = latin1(head, 0, 4);
    const size = sizeOf(id, viewOf(head).getUint32(4, littleEndian));
    yield { id, start: at + 8, size };
    padded = size % 2 === 1;
    at += 8 + size + (padded ? 1 : 0);
  }
}

/** Whether the bytes begin with four printable ASCII characters, as every chunk name is. */
export function isChunkId(bytes: Uint8Array): boolean {
  return bytes.length >= 4 && bytes.subarray(0, 4).every((byte) => byte >= 0x20 && byte <= 0x7e);
}
