import type { Span } from './span.ts';

/** A stretch in which the reconstructed waveform passes full scale (0 dBTP) in one channel. */
export interface Over extends Span {
  /** Channel index from 0. */
  readonly channel: number;
  /** Highest reconstructed level in the stretch, dBTP. */
  readonly peakDbtp: number;
}

export interface PeakResult {
  /** Highest |sample|; null for digital silence. */
  readonly samplePeakDbfs: number | null;
  /** Highest level of the reconstructed waveform (BS.1770-5 Annex 2, finer); null for digital silence. */
  readonly truePeakDbtp: number | null;
  /** True peak minus integrated loudness (dB); null where either is. */
  readonly plrDb: number | null;
  /** Sample peak minus RMS over the whole song, loudest channel (dB); null for silence. */
  readonly crestDb: number | null;
  /** Number of overs (stretches above 0 dBTP), all channels. */
  readonly overCount: number;
  /** The highest of them, in order of time, at most 200. */
  readonly overs: readonly Over[];
  /** Runs of 3 or more equal samples within 0.1 dB of full scale or of the file's own peak above -1 dBFS (heuristic). */
  readonly clippedRunCount: number;
  /** The longest of them, in order of time, at most 200. */
  readonly clippedRuns: readonly Span[];
}
