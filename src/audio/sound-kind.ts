import { latin1 } from './byte-source.ts';

/** Kinds of sound file that can be read, by what they are made of. */
export type SoundKind = 'wav' | 'aiff' | 'flac' | 'mp4' | 'mp3' | 'adts' | 'ogg-vorbis' | 'ogg-opus';

/** Bytes of a file's beginning that soundKind wants to see (after any ID3v2 tag). */
export const kindBytes = 4096;

/**
 * Tells a sound file's kind from its first bytes, never from its name; null when it is none that is known.
 * `head` begins after any ID3v2 tag (id3v2Length).
 */
export function soundKind(head: Uint8Array): SoundKind | null {
  const four = latin1(head, 0, 4);
  const form = latin1(head, 8, 12);
  if ((four === 'RIFF' || four === 'RF64' || four === 'BW64') && form === 'WAVE') return 'wav';
  if (four === 'FORM' && (form === 'AIFF' || form === 'AIFC')) return 'aiff';
  if (four === 'fLaC') return 'flac';
  if (latin1(head, 4, 8) === 'ftyp') return 'mp4';
  if (four === 'OggS' && head.length > 28) {
    const packet = 27 + head[26]; // RFC 3533 section 6: the first packet follows the segment table
    if (latin1(head, packet, packet + 8) === 'OpusHead') return 'ogg-opus';
    if (latin1(head, packet, packet + 7) === '\u0001vorbis') return 'ogg-vorbis';
    return null;
  }
  return mpegKind(head);
}

/** Length in bytes of an ID3v2 tag at the start (ID3v2.4.0 structure, section 3.1), 0 when there is none. */
export function id3v2Length(head: Uint8Array): number {
  if (head.length < 10 || latin1(head, 0, 3) !== 'ID3') return 0;
  const [flags, a, b, c, d] = head.subarray(5, 10);
  if ((a | b | c | d) & 0x80) return 0;
  return 10 + ((a << 21) | (b << 14) | (c << 7) | d) + (flags & 0x10 ? 10 : 0);
}

/**
 * MP3 and ADTS AAC have no magic number, only frames that begin with eleven set bits. One such place is chance;
 * two, the second where the first says it ends, are a stream. Zeros before the first frame are skipped.
 */
function mpegKind(head: Uint8Array): 'mp3' | 'adts' | null {
  for (let at = 0; at + 7 <= head.length; at++) {
    if (head[at] !== 0xff || (head[at + 1] & 0xe0) !== 0xe0) continue;
    const adts = (head[at + 1] & 0xf6) === 0xf0;
    const length = adts ? adtsFrameLength(head, at) : mpegFrameLength(head, at);
    if (length === 0) continue;
    const next = at + length;
    // A file of a single frame, or one longer than what was looked at: believed only at the very start.
    if (next + 2 > head.length) {
      if (at === 0) return adts ? 'adts' : 'mp3';
      continue;
    }
    if (head[next] === 0xff && (head[next + 1] & 0xfe) === (head[at + 1] & 0xfe))
      return adts ? 'adts' : 'mp3';
  }
  return null;
}

/** Frame length in bytes of an ADTS header (ISO/IEC 13818-7 section 6.2), 0 when it is none. */
function adtsFrameLength(bytes: Uint8Array, at: number): number {
  if (((bytes[at + 2] >> 2) & 15) > 12) return 0;
  const length = ((bytes[at + 3] & 3) << 11) | (bytes[at + 4] << 3) | (bytes[at + 5] >> 5);
  return length >= 7 ? length : 0;
}

const layer3Kbps = [
  [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320],
  [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160],
] as const;
const mpegRates = [44100, 48000, 32000] as const;

/**
 * Length in bytes of an MPEG layer III frame (ISO/IEC 11172-3 section 2.4.2.3, ISO/IEC 13818-3 section 2.4.2.3),
 * 0 when the header at `at` is none. Free-format streams are not recognised.
 */
function mpegFrameLength(bytes: Uint8Array, at: number): number {
  const version = (bytes[at + 1] >> 3) & 3; // 3 = MPEG-1, 2 = MPEG-2, 0 = MPEG-2.5 (common practice), 1 = reserved
  const layer = (bytes[at + 1] >> 1) & 3; // 1 = layer III
  const kbps = layer3Kbps[version === 3 ? 0 : 1][bytes[at + 2] >> 4];
  const rate = mpegRates[(bytes[at + 2] >> 2) & 3];
  if (version === 1 || layer !== 1 || !kbps || !rate) return 0;
  const sampleRate = version === 3 ? rate : version === 2 ? rate / 2 : rate / 4;
  const padding = (bytes[at + 2] >> 1) & 1;
  return Math.floor(((version === 3 ? 144 : 72) * kbps * 1000) / sampleRate) + padding;
}
