import type { LossyChoice } from '../audio/lossy.ts';
import type { Over } from '../measure/measurement.ts';

/** One lossy format as the person chooses it. */
export interface LossyFormat {
  /** Stable id: 'aac-128', 'mp3-320', 'vorbis-160', 'opus-128'; two in series: 'aac-256+sbc-328'. */
  readonly id: string;
  /** As shown: 'AAC 128'. */
  readonly label: string;
  readonly codec: 'aac' | 'mp3' | 'vorbis' | 'opus' | 'sbc';
  /** Bit rate asked for, kb/s. */
  readonly nominalKbps: number;
  /** What the decoded sound is coded in once more on its way, as to wireless headphones. */
  readonly then?: LossyChoice;
}

/** What one encoder and decoder did to the sound. */
export interface RoundTrip {
  /** Shown name of the format ('AAC 128'). */
  readonly format: string;
  /** Encoder and its version, as it names itself. */
  readonly encoder: string;
  /** Settings that decide the result, as given to the encoder. */
  readonly settings: string;
  readonly nominalKbps: number;
  /** Coded bytes over the song's length, kb/s. */
  readonly actualKbps: number;
  /** By how much the decoded sound came late before it was aligned, samples at the rate that was coded; fractions are real. */
  readonly delaySamples: number;
  /** True peak after decoding to float, dBTP; null for silence. */
  readonly truePeakDbtp: number | null;
  /** True peak after minus before, dB; null for silence. */
  readonly growthDb: number | null;
  /** Number of stretches above 0 dBTP after decoding. */
  readonly overs: number;
  /** The highest of them, in order of time, at most 200. */
  readonly overSpans: readonly Over[];
}

/** A round trip that could not be made; the others go on. */
export interface RoundTripFailure {
  readonly format: string;
  readonly code: string;
  readonly reason: string;
}
