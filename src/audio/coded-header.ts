import { type ByteSource, latin1, viewOf } from './byte-source.ts';
import type { CodedKind } from './coded-decoder.ts';
import { CodedError } from './coded-error.ts';
import { readMp4Header } from './mp4-header.ts';

/** A stretch of bytes to be given to a decoder: a part of the file, or bytes made from it. */
export type FeedPart = Uint8Array | { readonly start: number; readonly end: number };

/** What the header of a coded file says, and in what order its bytes are decoded. */
export interface CodedHeader {
  readonly container: string;
  readonly codec: string;
  readonly bitDepth: number | null;
  /** Frames that the header promises exactly; null where it does not. */
  readonly frames: number | null;
  /** True where the coded sound is one channel though the decoder may give two that are equal. */
  readonly mono: boolean;
  readonly feed: readonly FeedPart[];
}

/** Reads the little that has to be known before decoding. `start` is the first byte after any ID3v2 tag. */
export async function readCodedHeader(
  source: ByteSource,
  kind: CodedKind,
  start: number,
): Promise<CodedHeader> {
  const feed = [{ start, end: source.size }];
  const lossy = { bitDepth: null, frames: null, mono: false, feed };
  switch (kind) {
    case 'mp4':
      return readMp4Header(source, start);
    case 'flac':
      return { ...lossy, container: 'FLAC', codec: 'FLAC', ...(await readStreamInfo(source, start)) };
    case 'ogg-vorbis':
      return { ...lossy, container: 'OGG', codec: 'Vorbis' };
    case 'ogg-opus':
      return { ...lossy, container: 'OGG', codec: 'Opus' };
    case 'mp3': {
      const header = await firstFrame(source, start, 0xe0);
      return { ...lossy, container: 'MP3', codec: 'MP3', mono: header[3] >> 6 === 3 };
    }
    case 'adts': {
      const header = await firstFrame(source, start, 0xf0);
      const configuration = ((header[2] & 1) << 2) | (header[3] >> 6);
      return { ...lossy, container: 'ADTS', codec: 'AAC', mono: configuration === 1 };
    }
  }
}

/** The four bytes of the first frame header at or after `start`. */
async function firstFrame(source: ByteSource, start: number, syncMask: number): Promise<Uint8Array> {
  const head = await source.read(start, 4096);
  for (let at = 0; at + 4 <= head.length; at++)
    if (head[at] === 0xff && (head[at + 1] & syncMask) === syncMask) return head.subarray(at, at + 4);
  return new Uint8Array(4);
}

/** STREAMINFO (RFC 9639 section 8.2). */
async function readStreamInfo(
  source: ByteSource,
  start: number,
): Promise<Pick<CodedHeader, 'bitDepth' | 'frames'>> {
  const bytes = await source.read(start, 42);
  if (bytes.length < 42 || (bytes[4] & 0x7f) !== 0 || latin1(bytes, 0, 4) !== 'fLaC')
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${source.name}” begins like a FLAC file but has no stream description. Copy or export it again.`,
    );
  const view = viewOf(bytes);
  const low = view.getUint32(22, false);
  const high = view.getUint32(18, false);
  const frames = (high & 0xf) * 2 ** 32 + low;
  return { bitDepth: ((high >> 4) & 0x1f) + 1, frames: frames === 0 ? null : frames };
}
