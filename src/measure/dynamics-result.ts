import type { Span } from './span.ts';
import type { WideBand } from './wide-bands.ts';

export interface FlatTops {
  /** Tops within 1 dB of the highest sample that are flat, all channels (heuristic). */
  readonly flatTopCount: number;
  /** Share of the tops within 1 dB of the highest sample that are flat, 0..1; null in silence. */
  readonly flatTopShare: number | null;
  /** The longest of them, in order of time, at most 200. */
  readonly flatTops: readonly Span[];
}

/** How long a song is how loud. */
export interface LoudnessHistogram {
  /** Lower edge of the first bin, LUFS, a whole number; null when nothing is above -70 LUFS. */
  readonly fromLufs: number | null;
  /** Share of the 400 ms blocks above -70 LUFS in each bin of 1 LU from there up, 0..1; they add up to 1. */
  readonly shares: readonly number[];
}

export interface CrestBand extends WideBand {
  /** Highest sample minus RMS in the band, dB, of the channel with the most power in it; null where it is silent. */
  readonly crestDb: number | null;
}

/** How much limiting the sound has had, as far as its peaks betray it (heuristic). */
export type Limiting = 'none' | 'some' | 'much';

/** Loud against quiet, and what was done to the peaks. Figures are null where the sound is too short or silent. */
export interface DynamicsResult extends FlatTops {
  /** Crest factor by band, as far as the sample rate reaches. */
  readonly crestBands: readonly CrestBand[];
  /** 10th to 95th percentile of the RMS level of 3 s, one every 100 ms, above -70 dBFS and 20 dB under the mean, dB. */
  readonly rmsSpreadDb: number | null;
  /** Onsets a second by the detector of onsets.ts (heuristic); null under 1 s. */
  readonly onsetsPerSecond: number | null;
  /** Sample peak of the last 3 s minus short-term loudness, dB: median and lowest of the song. */
  readonly psrMedianDb: number | null;
  readonly psrMinDb: number | null;
  readonly loudnessHistogram: LoudnessHistogram;
  /** Share of the 10 ms blocks whose peak lies within 1 dB of the highest of the song, 0..1. */
  readonly topShare: number | null;
  /** Those against the blocks whose peak lies 1 to 2 dB under it, dB: how sharply the peaks end; null where too few tell. */
  readonly edgeDb: number | null;
  /** What these two say in a word (heuristic; steady tones, whose peaks are all alike, look limited too). */
  readonly limiting: Limiting | null;
}

/** Sample peak of the last 3 s minus short-term loudness (PSR), at the end of the window; the lowest of each step. */
export interface DynamicsTrace {
  readonly stepSeconds: number;
  readonly psrDb: readonly (number | null)[];
}
