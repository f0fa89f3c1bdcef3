import { readFile, stat } from 'node:fs/promises';
import { fileError } from '../../audio/files/file-error.ts';
import type { TagsToWrite } from '../../audio/files/write-tags.ts';
import { type Artwork, artworkLimits } from '../../deliver/record/record-check.ts';

/** A picture to be put into files. */
export interface ArtworkFile {
  readonly path: string;
  readonly mimeType: 'image/jpeg' | 'image/png';
}

/** What a picture file is: its form by its first bytes, its size where the header tells. Throws CodedError as reading does. */
export async function lookAtArtwork(path: string): Promise<Artwork> {
  try {
    const { size } = await stat(path);
    if (size > artworkLimits.mostBytes) {
      // Too large to be taken in any case; what it is need not be known.
      return { mimeType: 'image/jpeg', bytes: size, width: null, height: null };
    }
    const bytes = await readFile(path);
    return { bytes: size, ...(png(bytes) ?? jpeg(bytes) ?? { mimeType: null, width: null, height: null }) };
  } catch (error) {
    throw fileError(error, path, 'read');
  }
}

export async function readArtwork({
  path,
  mimeType,
}: ArtworkFile): Promise<NonNullable<TagsToWrite['artwork']>> {
  try {
    return { mimeType, bytes: await readFile(path) };
  } catch (error) {
    throw fileError(error, path, 'read');
  }
}

/** ISO/IEC 15948: signature, then the header chunk with width and height (from memory). */
function png(bytes: Buffer): Omit<Artwork, 'bytes'> | null {
  if (bytes.length < 24 || bytes.readUInt32BE(0) !== 0x89504e47) return null;
  return { mimeType: 'image/png', width: bytes.readUInt32BE(16), height: bytes.readUInt32BE(20) };
}

/** ISO/IEC 10918-1: segments until a start of frame, which tells height and width (from memory). */
function jpeg(bytes: Buffer): Omit<Artwork, 'bytes'> | null {
  if (bytes.length < 4 || bytes.readUInt16BE(0) !== 0xffd8) return null;
  for (let at = 2; at + 9 < bytes.length && bytes[at] === 0xff; at += 2 + bytes.readUInt16BE(at + 2)) {
    const kind = bytes[at + 1];
    const isFrame = kind >= 0xc0 && kind <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(kind);
    if (isFrame)
      return {
        mimeType: 'image/jpeg',
        width: bytes.readUInt16BE(at + 7),
        height: bytes.readUInt16BE(at + 5),
      };
  }
  return { mimeType: 'image/jpeg', width: null, height: null };
}
