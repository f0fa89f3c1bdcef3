import { CodedError } from './coded-error.ts';
import type { LossyCodec } from './lossy.ts';

/**
 * Sample rates at which each codec is used here, Hz, rising. Each codec carries lower rates too, but not at the bit
 * rates that music is delivered in, so lower rates are raised to the first of these. AAC and Vorbis carry higher
 * rates as well (ISO/IEC 14496-3 up to 96 kHz; from memory), but lossy deliveries are made at 44.1 or 48 kHz
 * (common practice), and coding at 96 kHz would spread the bits over a band that no delivery has.
 * MP3: ISO/IEC 11172-3 (MPEG-1); Opus: RFC 6716 §2, fullband only; SBC: Bluetooth A2DP §4.3 (all from memory).
 */
const carriedRates: Record<LossyCodec, readonly number[]> = {
  aac: [32_000, 44_100, 48_000],
  mp3: [32_000, 44_100, 48_000],
  vorbis: [32_000, 44_100, 48_000],
  opus: [48_000],
  sbc: [32_000, 44_100, 48_000],
};

/** Below this no music is delivered, and raising the rate would only blow the sound up. A choice of this project. */
const lowestRate = 8_000;

/**
 * The rate at which a sound is coded, Hz: its own where the codec carries it; else the highest carried rate that it
 * is a multiple of; else the next carried rate above; else the highest.
 * Throws CodedError CODEC_UNSUITABLE below 8 kHz.
 */
export function codedRate(codec: LossyCodec, sampleRate: number): number {
  if (sampleRate < lowestRate)
    throw new CodedError(
      'CODEC_UNSUITABLE',
      `A sound at ${sampleRate} Hz is below the ${lowestRate} Hz from which lossy formats are tried.`,
    );
  const rates = carriedRates[codec];
  if (rates.includes(sampleRate)) return sampleRate;
  return (
    rates.findLast((rate) => sampleRate % rate === 0) ??
    rates.find((rate) => rate > sampleRate) ??
    rates.at(-1)!
  );
}
