import { frameCount, type Pcm } from '../audio/pcm.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';

/** What can be listened to of a passage that was coded. */
export type ExcerptPart = 'original' | 'decoded' | 'difference';

/** A passage before and after lossy coding: of one rate and length, laid over each other, unclipped. */
export interface CodedPassage {
  readonly original: Pcm;
  readonly decoded: Pcm;
}

export interface ExcerptSound {
  readonly pcm: Pcm;
  /**
   * What was done to the sound, dB: `pcm` is the original, or the decoded sound, or decoded minus original, times
   * 10^(gainDb / 20).
   */
  readonly gainDb: number;
  /** The part of `gainDb` by which the difference is raised above the other two, dB; 0 for those. */
  readonly raisedDb: number;
  /** By how much the decoded sound was brought to the level of the original first, dB; 0 when that was not asked for. */
  readonly matchedDb: number;
  /** Level of the decoded sound over that of the original in this passage, dB, before any matching; null for silence. */
  readonly levelDb: number | null;
}

/** Room left above the highest point between samples, dBTP; also the usual ceiling of delivery (common practice). */
const highestDbtp = -1;
/** The difference is raised by no more than this: then noise of a 16-bit file is still far from loud (heuristic). */
const highestRaiseDb = 40;

/**
 * One of the three sounds of a passage, never above −1 dBTP. The original and the decoded sound get the same gain (0 dB
 * or less), so that they can be compared. The difference is raised by whole decibels as far as it stays at or below
 * the original's level (RMS) and its peak: what is inaudible comes up, and nothing jumps out.
 */
export function excerptSound(
  { original, decoded }: CodedPassage,
  part: ExcerptPart,
  { match = false }: { readonly match?: boolean } = {},
): ExcerptSound {
  const levels = { original: power(original, original), decoded: power(decoded, decoded) };
  const levelDb =
    levels.original > 0 && levels.decoded > 0 ? 10 * Math.log10(levels.decoded / levels.original) : null;
  // Least squares, not RMS over RMS: noise that was added must not count as level. A thousandth of a decibel is told exactly.
  const common = power(original, decoded);
  const matchedDb =
    match && common > 0 && levels.decoded > 0
      ? Math.round(20_000 * Math.log10(common / levels.decoded)) / 1000
      : 0;
  const matched = scaled(decoded, matchedDb);
  const top = Math.max(truePeakDbtp(original), truePeakDbtp(matched));
  const commonGainDb = Math.min(0, tenth(highestDbtp - top));
  if (part !== 'difference') {
    const pcm = scaled(part === 'original' ? original : matched, commonGainDb);
    return { pcm, gainDb: commonGainDb, raisedDb: 0, matchedDb, levelDb };
  }
  const difference: Pcm = {
    sampleRate: original.sampleRate,
    channels: original.channels.map((before, c) => matched.channels[c].map((after, i) => after - before[i])),
  };
  const noise = power(difference, difference);
  const below = noise > 0 ? 10 * Math.log10(levels.original / noise) : 0;
  const peakRoom = highestDbtp - commonGainDb - truePeakDbtp(difference);
  const raisedDb = noise > 0 ? Math.floor(Math.min(highestRaiseDb, below, peakRoom)) : 0;
  const gainDb = commonGainDb + raisedDb;
  return { pcm: scaled(difference, gainDb), gainDb, raisedDb, matchedDb, levelDb };
}

/** Rounded down to a tenth, so that the gain told is the gain given. */
function tenth(db: number): number {
  return Math.floor(db * 10) / 10;
}

function truePeakDbtp(pcm: Pcm): number {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  meter.push(pcm);
  return meter.finish().truePeakDbtp ?? Number.NEGATIVE_INFINITY;
}

/** Sum of the products of all samples; of a sound with itself its energy. */
function power(a: Pcm, b: Pcm): number {
  let sum = 0;
  a.channels.forEach((samples, c) => {
    const others = b.channels[c];
    for (let i = 0; i < samples.length; i++) sum += samples[i] * others[i];
  });
  return frameCount(a) === 0 ? 0 : sum;
}

function scaled({ sampleRate, channels }: Pcm, gainDb: number): Pcm {
  const factor = 10 ** (gainDb / 20);
  return { sampleRate, channels: channels.map((samples) => samples.map((value) => value * factor)) };
}
