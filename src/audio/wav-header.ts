import { type ByteSource, latin1, viewOf } from './byte-source.ts';
import { type Chunk, isChunkId, walkChunks } from './chunks.ts';
import { CodedError } from './coded-error.ts';
import { type PcmLayout, settleLayout } from './pcm-layout.ts';
import { bytesPerSample, type SampleCoding } from './sample-coding.ts';

/** Format tags (RFC 2361 and the Windows mmreg.h header) that are met in practice but hold no plain samples. */
const otherCodings: Readonly<Record<number, string>> = {
  2: 'Microsoft ADPCM',
  6: 'A-law',
  7: 'µ-law',
  17: 'IMA ADPCM',
  49: 'GSM 6.10',
  80: 'MPEG layer 2',
  85: 'MP3',
  255: 'AAC',
  352: 'Windows Media Audio 1',
  353: 'Windows Media Audio 2',
  354: 'Windows Media Audio Professional',
  355: 'Windows Media Audio Lossless',
  8192: 'AC-3',
  8193: 'DTS',
};

const tagPcm = 1;
const tagFloat = 3;
const tagExtensible = 0xfffe;
/** A 32-bit size that says 'look elsewhere' (RF64) or 'not known yet' (streams). */
const unknownSize = 0xffffffff;

interface WavFormat {
  readonly coding: SampleCoding;
  readonly validBits: number;
  readonly channels: number;
  readonly sampleRate: number;
  readonly warnings: readonly string[];
}

/**
 * Reads the header of a WAV, RF64 or BW64 file (Microsoft RIFF/WAVE with WAVE_FORMAT_EXTENSIBLE; EBU Tech 3306;
 * ITU-R BS.2088) that begins at `start`. Sizes are not believed where the file contradicts them: what is there is
 * read, and a warning says what was tolerated.
 */
export async function readWavHeader(source: ByteSource, start = 0): Promise<PcmLayout> {
  const { name } = source;
  const container = { RIFF: 'WAV', RF64: 'RF64', BW64: 'BW64' }[latin1(await source.read(start, 4), 0, 4)];
  let format: WavFormat | undefined;
  let data: Chunk | undefined;
  let realDataSize: number | undefined;
  const sizeOf = (id: string, stated: number) =>
    id === 'data' && stated === unknownSize ? (realDataSize ?? stated) : stated;
  for await (const chunk of walkChunks(source, start + 12, true, sizeOf)) {
    if (chunk.id === 'ds64') {
      const sizes = await source.read(chunk.start, 16);
      if (sizes.length === 16) realDataSize = Number(viewOf(sizes).getBigUint64(8, true));
    } else if (chunk.id === 'fmt ') {
      format ??= parseFormat(name, await source.read(chunk.start, Math.min(chunk.size, 40)));
    } else if (chunk.id === 'data') {
      data ??= chunk;
    }
    if (format && data) break;
  }
  if (!format)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” begins like a WAV file but has no format description. Copy or export it again.`,
    );
  if (!data)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” begins like a WAV file but ends before its sound. Copy or export it again.`,
    );
  const { claimedBytes, warning } = await believedSize(source, data);
  return settleLayout(source, {
    container: container ?? 'WAV',
    ...format,
    littleEndian: true,
    dataStart: data.start,
    claimedBytes,
    warnings: warning ? [...format.warnings, warning] : format.warnings,
  });
}

/** How many bytes of sound the data chunk really promises, given the sizes that broken writers leave behind. */
async function believedSize(
  source: ByteSource,
  data: Chunk,
): Promise<{ claimedBytes: number | null; warning?: string }> {
  const held = source.size - data.start;
  if (data.size === unknownSize)
    return {
      claimedBytes: null,
      warning:
        'The header does not say how long the sound is (a stream); it was read to the end of the file.',
    };
  if (data.size === 0 && held > 0 && !(await chunkFollows(source, data.start)))
    return {
      claimedBytes: null,
      warning:
        'The header says there is no sound (a recording not closed); it was read to the end of the file.',
    };
  // A plain WAV over 4 GiB: the 32-bit size has wrapped, once or more.
  if (data.size < unknownSize && held - data.size >= 2 ** 32) {
    const wraps = Math.floor((held - data.size) / 2 ** 32);
    return {
      claimedBytes: data.size + wraps * 2 ** 32,
      warning: 'The file is over 4 GiB, more than its header can say; the size was taken from the file.',
    };
  }
  return { claimedBytes: data.size };
}

async function chunkFollows(source: ByteSource, position: number): Promise<boolean> {
  const head = await source.read(position, 8);
  return (
    head.length === 8 && isChunkId(head) && position + 8 + viewOf(head).getUint32(4, true) <= source.size + 1
  );
}

function parseFormat(name: string, bytes: Uint8Array): WavFormat {
  if (bytes.length < 16)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `The format description of “${name}” is cut short. Export it again.`,
    );
  const view = viewOf(bytes);
  const channels = view.getUint16(2, true);
  const blockAlign = view.getUint16(12, true);
  const statedBits = view.getUint16(14, true);
  let tag = view.getUint16(0, true);
  let validBits = statedBits;
  if (tag === tagExtensible && bytes.length >= 26) {
    tag = view.getUint16(24, true);
    const valid = view.getUint16(18, true);
    if (valid > 0 && valid <= statedBits) validBits = valid;
  }
  if (tag !== tagPcm && tag !== tagFloat)
    throw new CodedError(
      'SOUND_CODEC_UNKNOWN',
      `“${name}” is a WAV file that holds ${otherCodings[tag] ?? 'a coding'} (format 0x${tag.toString(16).padStart(4, '0')}), which cannot be read here. Export it as PCM.`,
    );
  const warnings: string[] = [];
  const perSample = channels > 0 ? blockAlign / channels : 0;
  let width = Math.ceil(statedBits / 8);
  if (perSample !== width) {
    if (tag === tagPcm && perSample > width && Number.isInteger(perSample) && perSample <= 4)
      width = perSample;
    else
      warnings.push(
        'The header contradicts itself about the size of a sample frame; the bit depth was believed.',
      );
  }
  const coding = codingOf(tag, width);
  if (!coding)
    throw new CodedError(
      'SOUND_CODEC_UNKNOWN',
      `“${name}” says it holds ${statedBits}-bit ${tag === tagFloat ? 'float' : 'integer'} samples, which cannot be read here. Export it as 16, 24 or 32 bit.`,
    );
  return {
    coding,
    validBits: tag === tagFloat ? 8 * bytesPerSample[coding] : validBits,
    channels,
    sampleRate: view.getUint32(4, true),
    warnings,
  };
}

function codingOf(tag: number, width: number): SampleCoding | undefined {
  if (tag === tagFloat) return width === 4 ? 'f32' : width === 8 ? 'f64' : undefined;
  return ([undefined, 'u8', 's16', 's24', 's32'] as const)[width];
}
