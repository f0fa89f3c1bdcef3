import { decoder as aacDecoder } from '@audio/decode-aac';
import { decoder as mp3Decoder } from '@audio/decode-mp3';
import { decoder as opusDecoder } from '@audio/decode-opus';
import { decoder as vorbisDecoder } from '@audio/decode-vorbis';
import { type ByteSource, latin1, viewOf } from './byte-source.ts';
import type { CodedHeader } from './coded-decoder.ts';
import { CodedError } from './coded-error.ts';
import { createFlacDecoder } from './flac-decoder.ts';
import { readMp4Header } from './mp4-header.ts';
import type { SoundKind } from './sound-kind.ts';

/** Kinds of file whose sound has to be decoded. */
export type CodedKind = Exclude<SoundKind, 'wav' | 'aiff'>;

/**
 * Reads the little that has to be known before decoding. `start` is the first byte after any ID3v2 tag.
 *
 * The decoders are those of audio-decode, taken one by one and not through its front: the front takes a stereo block
 * whose channels agree at every 37th sample for mono, which loses sound where only one channel begins.
 */
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
      return readFlacHeader(source, start);
    case 'ogg-vorbis':
      return { ...lossy, container: 'OGG', codec: 'Vorbis', createDecoder: vorbisDecoder };
    case 'ogg-opus':
      return { ...lossy, container: 'OGG', codec: 'Opus', createDecoder: opusDecoder };
    case 'mp3': {
      const header = await firstFrame(source, start, 0xe0);
      return {
        ...lossy,
        container: 'MP3',
        codec: 'MP3',
        mono: header[3] >> 6 === 3,
        createDecoder: mp3Decoder,
      };
    }
    case 'adts': {
      const header = await firstFrame(source, start, 0xf0);
      const configuration = ((header[2] & 1) << 2) | (header[3] >> 6);
      return {
        ...lossy,
        container: 'ADTS',
        codec: 'AAC',
        mono: configuration === 1,
        createDecoder: aacDecoder,
      };
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

/** Metadata blocks walked before a file counts as damaged (a limit of ours). */
const maxMetadataBlocks = 1024;

/** STREAMINFO and where the frames begin and end (RFC 9639 sections 6 to 8.2). */
async function readFlacHeader(source: ByteSource, start: number): Promise<CodedHeader> {
  const bytes = await source.read(start, 42);
  if (bytes.length < 42 || (bytes[4] & 0x7f) !== 0)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${source.name}” begins like a FLAC file but has no stream description. Copy or export it again.`,
    );
  const view = viewOf(bytes);
  const packed = view.getUint32(18, false);
  const channels = ((packed >> 9) & 7) + 1;
  const bitDepth = ((packed >> 4) & 0x1f) + 1;
  const stated = (packed & 0xf) * 2 ** 32 + view.getUint32(22, false);
  const frames = stated === 0 ? null : stated;
  return {
    container: 'FLAC',
    codec: 'FLAC',
    bitDepth,
    frames,
    mono: false,
    feed: [{ start: await afterMetadata(source, start), end: await beforeId3v1(source) }],
    createDecoder: () =>
      createFlacDecoder({ blockFrames: view.getUint16(10, false), channels, bitDepth, frames }),
  };
}

async function afterMetadata(source: ByteSource, start: number): Promise<number> {
  let at = start + 4;
  for (let count = 0; count < maxMetadataBlocks; count++) {
    const head = await source.read(at, 4);
    if (head.length < 4) break;
    at += 4 + (viewOf(head).getUint32(0, false) & 0xffffff);
    if (head[0] & 0x80) return at;
  }
  throw new CodedError('SOUND_TRUNCATED', `“${source.name}” ends before its sound. Copy or export it again.`);
}

/** Where the sound ends: some taggers put 128 bytes of ID3v1 after it. */
async function beforeId3v1(source: ByteSource): Promise<number> {
  const tag = await source.read(source.size - 128, 3);
  return latin1(tag, 0, 3) === 'TAG' ? source.size - 128 : source.size;
}
