import type { Span } from '../measure/span.ts';

/** What changed from version A to version B of a song. */
export interface VersionChange {
  /**
   * How much of A's sound is in B, 0..1: mean coherence of the third octaves from 100 Hz to 10 kHz, the same windows
   * in both. 1 for a copy at any level; 0.95 and more for masters of one mix; about 0.1 and less for other music.
   */
  readonly similarity: number;
  /** null when B is not the same song (or is silent); `reason` says so. */
  readonly same: SameSong | null;
  /** A sentence, where `same` is null; otherwise null. */
  readonly reason: string | null;
}

export interface SameSong {
  readonly alignment: VersionAlignment;
  readonly length: LengthChange;
  /** Loudness of B minus loudness of A over what both have, LU; taken off before anything below was compared. */
  readonly gainDb: number;
  readonly tone: BandChange;
  /** The same for each section of A (those of SectionsResult, cut to what both have). */
  readonly sections: readonly SectionChange[];
  readonly dynamics: DynamicsChange;
  /** null unless both have two channels. */
  readonly width: WidthChange | null;
  /** Stretches of A, about a second each, for which nothing alike was found in B at the time where it should be: an edit, or another take. */
  readonly unlike: readonly Span[];
}

export interface VersionAlignment {
  /** Where B's clock stands when A's begins, s: positive when B has the song later. */
  readonly offsetSeconds: number;
  /** The same in samples at A's rate; to about a hundredth where B is A moved. */
  readonly offsetSamples: number;
  /** How much slower B plays, parts per million: positive when it takes longer. */
  readonly driftPpm: number;
  /** Standard deviation of the moments of single windows about the line through them, samples. */
  readonly scatterSamples: number;
  /** For each channel, whether B's is upside down. One value when the two were folded to mono to be compared. */
  readonly inverted: readonly boolean[];
  /** Whether left and right changed places. */
  readonly swapped: boolean;
}

export interface LengthChange {
  /** A's part that both have, s in A's time. */
  readonly shared: Span;
  /** What B has before A's beginning, s; negative where B begins later in the song. */
  readonly headSeconds: number;
  /** What B has after A's end, s; negative where B ends earlier. */
  readonly tailSeconds: number;
  /** Whether what only one of them has at the head (tail) is silence: below -60 dBFS (heuristic). true when there is nothing. */
  readonly headSilent: boolean;
  readonly tailSilent: boolean;
}

export interface BandChange {
  /** Nominal third-octave centres, Hz (IEC 61260-1). */
  readonly centresHz: readonly number[];
  /** Level in B minus level in A minus `gainDb`, dB; null where neither has anything within 80 dB of its loudest band. */
  readonly changeDb: readonly (number | null)[];
}

export interface SectionChange extends Span, BandChange {
  readonly label: string;
  /** Power of B's section over power of A's, less `gainDb`, dB: below 0 where B holds the loud parts back. */
  readonly levelDb: number;
}

/** Each B minus A, over what both have; null where either has no figure. */
export interface DynamicsChange {
  readonly crestDb: number | null;
  readonly plrDb: number | null;
  readonly rangeLu: number | null;
  readonly samplePeakDb: number | null;
  readonly truePeakDb: number | null;
}

export interface WidthChange {
  /** Side over mid power, B minus A, dB; null where one of them is mono. */
  readonly sideToMidDb: number | null;
  /** The same by third octave, at the centres of `tone`; null where there is nothing to tell. */
  readonly sideToMidByBandDb: readonly (number | null)[];
}
