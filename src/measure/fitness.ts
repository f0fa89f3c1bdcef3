import type { CeilingResult } from './faults/ceiling.ts';
import type { FaultResult } from './faults/fault-meter.ts';
import type { LoudnessResult } from './loudness-result.ts';
import type { PeakResult } from './peak-result.ts';

/** What whoever finishes a mix wants to know of it first. Measured for every file; rules read it only where the file is a mix. */
export interface FitnessResult {
  /** Room from the true peak up to full scale, dB; negative above it; null for silence. */
  readonly headroomDb: number | null;
  /** Share of 10 ms blocks (of those within 20 dB of the highest) whose peak comes within 0.5 dB of the highest peak, 0..1; null for silence. */
  readonly nearTopShare: number | null;
  /** How much limiting or clipping the bus shows by that share (heuristic): none below 0.02, heavy from 0.15; null for silence and for
   * sounds under 3 s, where a few notes can look alike. */
  readonly busLimiting: 'none' | 'some' | 'heavy' | null;
  /** Integrated loudness over the noise floor, dB (K-weighted loudness against unweighted noise from 200 Hz to 16 kHz); null without either. */
  readonly loudnessOverNoiseDb: number | null;
  /** Bits a sample that are in use; null for samples finer than 24 bits and for silence. */
  readonly bits: number | null;
  /** Where the sound stops as if cut, Hz; null when it reaches up by itself. */
  readonly topHz: number | null;
}

/** Set on the demo songs: at most 0.0007 for mixes, 0.007 to 0.053 for masters with a working limiter, 0.50 to 0.62 for over-limited ones (measured). */
const someShare = 0.02;
const heavyShare = 0.15;
const leastSeconds = 3;

export function fitnessOf(
  seconds: number,
  loudness: LoudnessResult,
  peak: Pick<PeakResult, 'truePeakDbtp'>,
  faults: FaultResult,
  { nearTopShare }: CeilingResult,
): FitnessResult {
  const { floorDbfs } = faults.noise;
  return {
    headroomDb: peak.truePeakDbtp === null ? null : -peak.truePeakDbtp,
    nearTopShare,
    busLimiting:
      nearTopShare === null || seconds < leastSeconds
        ? null
        : nearTopShare >= heavyShare
          ? 'heavy'
          : nearTopShare >= someShare
            ? 'some'
            : 'none',
    loudnessOverNoiseDb:
      loudness.integratedLufs === null || floorDbfs === null ? null : loudness.integratedLufs - floorDbfs,
    bits: faults.grid.bits,
    topHz: faults.bandwidth.edgeHz,
  };
}
