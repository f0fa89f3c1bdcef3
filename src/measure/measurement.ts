import type { DynamicsResult, DynamicsTrace } from './dynamics-result.ts';
import type { FaultResult } from './faults/fault-meter.ts';
import type { FitnessResult } from './fitness.ts';
import type { LoudnessResult, LoudnessTrace } from './loudness-result.ts';
import type { LowEndResult } from './low-end.ts';
import type { Over, PeakResult } from './peak-result.ts';
import type { SectionsResult } from './sections.ts';
import type { Span } from './span.ts';
import type { StereoResult, StereoTrace } from './stereo-result.ts';
import type { ToneTrace } from './tone-trace.ts';

export type { LoudnessResult, Over, PeakResult, Span };

/** What is measured once per file and kept. One type per measuring module; units are in the names. */

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
  readonly loudness: LoudnessTrace;
  readonly dynamics: DynamicsTrace;
  readonly tone: ToneTrace;
  /** null for mono. */
  readonly stereo: StereoTrace | null;
}

export interface Measurement {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly seconds: number;
  readonly loudness: LoudnessResult;
  readonly peak: PeakResult;
  readonly tone: ToneResult;
  readonly sections: SectionsResult;
  /** null for mono. */
  readonly stereo: StereoResult | null;
  readonly dynamics: DynamicsResult;
  readonly lowEnd: LowEndResult;
  readonly faults: FaultResult;
  readonly fitness: FitnessResult;
  readonly traces: Traces;
}
