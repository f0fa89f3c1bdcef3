import type { FaultResult } from './faults/fault-meter.ts';
import type { FitnessResult } from './fitness.ts';

/** What is measured once per file and kept. One type per measuring module; units are in the names. */

/** A stretch of time in a song. */
export interface Span {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** A stretch in which the reconstructed waveform passes full scale (0 dBTP) in one channel. */
export interface Over extends Span {
  /** Channel index from 0. */
  readonly channel: number;
  /** Highest reconstructed level in the stretch, dBTP. */
  readonly peakDbtp: number;
}

/** ITU-R BS.1770-5 and EBU Tech 3341/3342. A value is null where the sound is too short or too quiet for it; `reason` says why. */
export interface LoudnessResult {
  readonly integratedLufs: number | null;
  readonly rangeLu: number | null;
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
  /** Why a value is null; null when none is. */
  readonly reason: string | null;
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

/** Long-term spectrum. */
export interface ToneResult {
  /** Nominal third-octave centres, Hz (IEC 61260-1), 20 Hz..20 kHz as far as the rate reaches. */
  readonly centresHz: readonly number[];
  /** Mean-square level in each band relative to the sum of all bands, dB; channels added by power. null: nothing in the band. */
  readonly levelsDb: readonly (number | null)[];
  /** Slope of the band levels from 100 Hz to 10 kHz by least squares, dB per octave; null for silence. */
  readonly tiltDbPerOctave: number | null;
  /** Power below 120 Hz relative to all, dB. */
  readonly lowDb: number | null;
  /** Power 120 Hz..2 kHz relative to all, dB. */
  readonly midDb: number | null;
  /** Power 2..20 kHz relative to all, dB. */
  readonly highDb: number | null;
}

/** What is drawn: never used for a verdict. */
export interface Traces {
  /** Lowest and highest sample of all channels in equal steps of time. At most 4000 steps. */
  readonly waveform: {
    readonly stepSeconds: number;
    readonly min: readonly number[];
    readonly max: readonly number[];
  };
  /** Momentary (400 ms) and short-term (3 s) loudness, a value every `stepSeconds` (0.1 s), each at the END of its
   * window: value i belongs to the window that ends at (i + 1) * stepSeconds. null before the first full window and in silence. */
  readonly loudness: {
    readonly stepSeconds: number;
    readonly momentaryLufs: readonly (number | null)[];
    readonly shortTermLufs: readonly (number | null)[];
  };
}

export interface Measurement {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly seconds: number;
  readonly loudness: LoudnessResult;
  readonly peak: PeakResult;
  readonly tone: ToneResult;
  readonly faults: FaultResult;
  readonly fitness: FitnessResult;
  readonly traces: Traces;
}
