import { type ByteSource, latin1, viewOf } from './byte-source.ts';
import { type Chunk, walkChunks } from './chunks.ts';
import { CodedError } from './coded-error.ts';
import { type PcmLayout, settleLayout } from './pcm-layout.ts';
import type { SampleCoding } from './sample-coding.ts';

interface Common {
  readonly coding: SampleCoding;
  readonly littleEndian: boolean;
  readonly validBits: number;
  readonly channels: number;
  readonly sampleRate: number;
  readonly statedFrames: number;
}

/**
 * Reads the header of an AIFF or AIFF-C file (Apple, 'Audio Interchange File Format' 1.3, and 'AIFF-C' draft 1991)
 * that begins at `start`. Plain codings only: NONE, twos, sowt, raw, in24, in32 (and their little-endian twins
 * 42ni, 23ni), fl32, fl64.
 */
export async function readAiffHeader(source: ByteSource, start = 0): Promise<PcmLayout> {
  const { name } = source;
  const compressed = latin1(await source.read(start + 8, 4), 0, 4) === 'AIFC';
  let common: Common | undefined;
  let sound: Chunk | undefined;
  for await (const chunk of walkChunks(source, start + 12, false)) {
    if (chunk.id === 'COMM')
      common ??= parseCommon(name, await source.read(chunk.start, Math.min(chunk.size, 64)), compressed);
    else if (chunk.id === 'SSND') sound ??= chunk;
    if (common && sound) break;
  }
  if (!common)
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” begins like an AIFF file but has no format description. Copy or export it again.`,
    );
  if (!sound) {
    // An AIFF with no frames may leave the sound chunk out (AIFF 1.3, section 'Sound Data Chunk').
    if (common.statedFrames === 0)
      throw new CodedError(
        'SOUND_NO_SAMPLES',
        `“${name}” is a sound file with no samples in it. Export it again.`,
      );
    throw new CodedError(
      'SOUND_TRUNCATED',
      `“${name}” begins like an AIFF file but ends before its sound. Copy or export it again.`,
    );
  }
  const head = await source.read(sound.start, 8);
  const offset = head.length === 8 ? viewOf(head).getUint32(0, false) : 0;
  const dataStart = sound.start + 8 + offset;
  const open = sound.size === 0 || sound.size === 0xffffffff;
  return settleLayout(source, {
    container: compressed ? 'AIFF-C' : 'AIFF',
    ...common,
    dataStart,
    claimedBytes: open ? null : Math.max(0, sound.size - 8 - offset),
    warnings: open
      ? [
          'The header does not say how long the sound is (a recording not closed); it was read to the end of the file.',
        ]
      : [],
  });
}

function parseCommon(name: string, bytes: Uint8Array, compressed: boolean): Common {
  if (bytes.length < (compressed ? 22 : 18))
    throw new CodedError(
      'SOUND_TRUNCATED',
      `The format description of “${name}” is cut short. Export it again.`,
    );
  const view = viewOf(bytes);
  const bits = view.getUint16(6, false);
  const type = compressed ? latin1(bytes, 18, 22) : 'NONE';
  const stored = storedAs(type, bits);
  if (!stored)
    throw new CodedError(
      'SOUND_CODEC_UNKNOWN',
      `“${name}” is an AIFF file that holds “${type.replace(/[^\x20-\x7e]/g, '?')}” samples of ${bits} bits, which cannot be read here. Export it as PCM.`,
    );
  return {
    ...stored,
    channels: view.getUint16(0, false),
    statedFrames: view.getUint32(2, false),
    sampleRate: extended80(view, 8),
  };
}

function storedAs(
  type: string,
  bits: number,
): Pick<Common, 'coding' | 'littleEndian' | 'validBits'> | undefined {
  switch (type) {
    case 'NONE':
    case 'twos':
    case 'sowt': {
      const coding = ([undefined, 's8', 's16', 's24', 's32'] as const)[Math.ceil(bits / 8)];
      return coding && { coding, littleEndian: type === 'sowt', validBits: bits };
    }
    case 'raw ':
      return { coding: 'u8', littleEndian: false, validBits: 8 };
    case 'in24':
    case '42ni':
    case '42n1': // libsndfile spells it so
      return { coding: 's24', littleEndian: type !== 'in24', validBits: 24 };
    case 'in32':
    case '23ni':
      return { coding: 's32', littleEndian: type !== 'in32', validBits: 32 };
    case 'fl32':
    case 'FL32':
      return { coding: 'f32', littleEndian: false, validBits: 32 };
    case 'fl64':
    case 'FL64':
      return { coding: 'f64', littleEndian: false, validBits: 64 };
    default:
      return undefined;
  }
}

/** An 80-bit extended number (IEEE 754 double-extended, as AIFF stores the rate), rounded to a whole number. */
function extended80(view: DataView, at: number): number {
  const exponent = view.getUint16(at, false);
  if (exponent & 0x8000) return 0;
  const mantissa = view.getUint32(at + 2, false) * 2 ** 32 + view.getUint32(at + 6, false);
  return Math.round(mantissa * 2 ** (exponent - 16383 - 63));
}
