import type { ByteSource } from './byte-source.ts';
import { CodedError } from './coded-error.ts';
import { bytesPerSample, type SampleCoding } from './sample-coding.ts';
import { lengthWarning, type SoundInfo } from './sound-info.ts';

/** Most channels that are handled: twice what the largest cinema beds carry (a limit of ours). */
const maxChannels = 64;
/** Highest sample rate that is handled, Hz: 32 x 48 kHz (a limit of ours). */
const maxSampleRate = 1_536_000;

/** Where the uncompressed samples of a file lie and how they are stored. */
export interface PcmLayout {
  readonly info: SoundInfo;
  readonly coding: SampleCoding;
  readonly littleEndian: boolean;
  /** First byte of the first sample. */
  readonly dataStart: number;
  /** Bytes of whole frames that the file really holds. */
  readonly dataBytes: number;
}

/** What a header claims, before it is held against the file. */
export interface PcmClaim {
  readonly container: string;
  readonly coding: SampleCoding;
  readonly littleEndian: boolean;
  readonly validBits: number;
  readonly channels: number;
  readonly sampleRate: number;
  readonly dataStart: number;
  /** Bytes of sound that the header promises; null where it promises nothing (a recording still open, a stream). */
  readonly claimedBytes: number | null;
  readonly warnings: readonly string[];
}

/**
 * Holds a header's claim against the file's real size and the house's limits. A file that ends early is read as far
 * as it goes and the warning says so.
 */
export function settleLayout(source: ByteSource, claim: PcmClaim): PcmLayout {
  const { name } = source;
  checkChannels(name, claim.channels);
  checkSampleRate(name, claim.sampleRate);
  const warnings = [...claim.warnings];
  const frameBytes = claim.channels * bytesPerSample[claim.coding];
  const heldBytes = Math.max(0, source.size - claim.dataStart);
  const bytes = Math.min(claim.claimedBytes ?? heldBytes, heldBytes);
  const frames = Math.floor(bytes / frameBytes);
  const seconds = (byteCount: number) => (Math.floor(byteCount / frameBytes) / claim.sampleRate).toFixed(3);
  if (claim.claimedBytes !== null && claim.claimedBytes > heldBytes) {
    if (frames === 0)
      throw new CodedError(
        'SOUND_TRUNCATED',
        `“${name}” ends before its first sample, though its header promises ${seconds(claim.claimedBytes)} s. Copy or export it again.`,
      );
    warnings.push(lengthWarning(seconds(claim.claimedBytes), seconds(heldBytes)));
  } else if (frames === 0) {
    throw new CodedError(
      'SOUND_NO_SAMPLES',
      `“${name}” is a sound file with no samples in it. Export it again.`,
    );
  }
  if (bytes % frameBytes !== 0) warnings.push('The last sample frame is incomplete and was left out.');
  return {
    info: {
      container: claim.container,
      codec: claim.coding.startsWith('f') ? 'PCM float' : 'PCM',
      sampleRate: claim.sampleRate,
      channels: claim.channels,
      bitDepth: claim.validBits,
      frames,
      warnings,
    },
    coding: claim.coding,
    littleEndian: claim.littleEndian,
    dataStart: claim.dataStart,
    dataBytes: frames * frameBytes,
  };
}

/** Throws SOUND_DAMAGED or SOUND_TOO_MANY_CHANNELS unless 1..64. */
export function checkChannels(name: string, channels: number): void {
  if (channels < 1)
    throw new CodedError(
      'SOUND_DAMAGED',
      `The header of “${name}” says it has no channels. Export it again.`,
    );
  if (channels > maxChannels)
    throw new CodedError(
      'SOUND_TOO_MANY_CHANNELS',
      `“${name}” says it has ${channels} channels; at most ${maxChannels} can be handled.`,
    );
}

/** Throws SOUND_RATE_UNSUPPORTED unless 1..1,536,000 Hz. */
export function checkSampleRate(name: string, sampleRate: number): void {
  if (!(sampleRate >= 1 && sampleRate <= maxSampleRate))
    throw new CodedError(
      'SOUND_RATE_UNSUPPORTED',
      `“${name}” says it has a sample rate of ${sampleRate} Hz; 1 Hz to ${maxSampleRate} Hz can be handled.`,
    );
}
