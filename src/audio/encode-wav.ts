import { bytesPerSample, type WrittenCoding } from './sample-coding.ts';

/** Speakers of the usual channel counts as WAVE_FORMAT_EXTENSIBLE's dwChannelMask (Microsoft, KSAUDIO_SPEAKER_*). */
const channelMasks: Readonly<Record<number, number>> = {
  1: 0x4,
  2: 0x3,
  3: 0x7,
  4: 0x33,
  5: 0x37,
  6: 0x3f,
  7: 0x13f,
  8: 0x63f,
};

const largestRiff = 0xffffffff;

export interface WavChunk {
  /** Four letters. */
  readonly id: string;
  readonly bytes: Uint8Array;
}

/**
 * Everything of a WAV file before its samples. Up to two channels the plain format tags are used, which every
 * reader knows; above, WAVE_FORMAT_EXTENSIBLE with the usual speakers. A file that would not fit a 32-bit size
 * becomes RF64 (EBU Tech 3306). An odd number of data bytes wants one zero byte after them.
 *
 * @param more a further chunk that stands before the samples; its contents have an even number of bytes
 */
export function wavHeader(
  sampleRate: number,
  channels: number,
  frames: number,
  coding: WrittenCoding,
  more?: WavChunk,
): Uint8Array<ArrayBuffer> {
  const width = bytesPerSample[coding];
  const dataBytes = frames * channels * width;
  const tag = coding === 'f32' ? 3 : 1;
  const extensible = channels > 2;
  const formatBytes = extensible ? 40 : tag === 3 ? 18 : 16;
  const fact = extensible || tag === 3; // wanted for everything that is not plain integers
  const factBytes = fact ? 12 : 0;
  const moreBytes = more ? 8 + more.bytes.length : 0;
  const plainBytes = 12 + moreBytes + 8 + formatBytes + factBytes + 8;
  const rf64 = plainBytes - 8 + dataBytes + (dataBytes % 2) > largestRiff;
  const headerBytes = plainBytes + (rf64 ? 36 : 0);
  const bytes = new Uint8Array(headerBytes);
  const view = new DataView(bytes.buffer);
  let at = 0;
  const text = (word: string) => {
    for (const letter of word) bytes[at++] = letter.charCodeAt(0);
  };
  const u16 = (value: number) => {
    view.setUint16(at, value, true);
    at += 2;
  };
  const u32 = (value: number) => {
    view.setUint32(at, value, true);
    at += 4;
  };
  const u64 = (value: number) => {
    view.setBigUint64(at, BigInt(value), true);
    at += 8;
  };
  const riffBytes = headerBytes - 8 + dataBytes + (dataBytes % 2);
  text(rf64 ? 'RF64' : 'RIFF');
  u32(rf64 ? largestRiff : riffBytes);
  text('WAVE');
  if (rf64) {
    text('ds64');
    u32(28);
    u64(riffBytes);
    u64(dataBytes);
    u64(frames);
    u32(0); // no further sizes
  }
  if (more) {
    text(more.id);
    u32(more.bytes.length);
    bytes.set(more.bytes, at);
    at += more.bytes.length;
  }
  text('fmt ');
  u32(formatBytes);
  u16(extensible ? 0xfffe : tag);
  u16(channels);
  u32(sampleRate);
  u32(sampleRate * channels * width);
  u16(channels * width);
  u16(8 * width);
  if (extensible) {
    u16(22);
    u16(8 * width);
    u32(channelMasks[channels] ?? 0);
    u16(tag);
    bytes.set([0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71], at); // rest of KSDATAFORMAT_SUBTYPE_*
    at += 14;
  } else if (tag === 3) u16(0);
  if (fact) {
    text('fact');
    u32(4);
    u32(Math.min(frames, largestRiff));
  }
  text('data');
  u32(rf64 ? largestRiff : dataBytes);
  return bytes;
}
