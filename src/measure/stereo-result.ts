import type { Span } from './span.ts';
import type { WideBand } from './wide-bands.ts';

/** What two channels have to do with each other. */
export interface PairFigures {
  /** -1 (opposite) .. 0 (nothing in common) .. 1 (equal but for level); null where either channel is silent. */
  readonly correlation: number | null;
  /** Level of right over left, dB, -60..60: positive leans right; null where both are silent. */
  readonly balanceDb: number | null;
  /** Width: level of side (L-R) over mid (L+R), dB, -60 (mono) .. 0 (nothing in common) .. 60 (opposite); null in silence. */
  readonly sideToMidDb: number | null;
  /**
   * Level lost when folded to mono, dB: power of (L+R)/2 under the mean power of L and R. Equal channels lose 0,
   * channels with nothing in common 3.01, opposite ones everything, told as 60. null in silence.
   */
  readonly foldLossDb: number | null;
}

export interface StereoBand extends WideBand, PairFigures {}

/** How the first two channels (L and R) stand to each other. null as a whole for mono. */
export interface StereoResult extends PairFigures {
  /** The same figures by band, as far as the sample rate reaches. */
  readonly bands: readonly StereoBand[];
  /** L and R are one and the same, to 80 dB below. */
  readonly identical: boolean;
  /** Channels without any sound (from 0), of all the file has: nothing above -90 dBFS while another is louder. */
  readonly silentChannels: readonly number[];
  /** Samples by which R comes after L over the whole sound (negative: before), to about 0.05; null: no one delay to tell. */
  readonly delaySamples: number | null;
  /** Share of the spectrum that agrees on that delay, 0..1; null where nothing can be told. */
  readonly delayAgreement: number | null;
  /** Where one channel is upside down against the other (heuristic), to about half a second. */
  readonly invertedSpans: readonly Span[];
  /** Share of the sounding part that is upside down, 0..1; null in silence. */
  readonly invertedShare: number | null;
}

/** Correlation and balance over time: drawn, never judged. */
export interface StereoTrace {
  readonly stepSeconds: number;
  readonly correlation: readonly (number | null)[];
  readonly balanceDb: readonly (number | null)[];
  /** By band, steps of their own: the middle of step 0, and the distance to the next. */
  readonly bandFirstSeconds: number;
  readonly bandStepSeconds: number;
  /** One array a band of StereoResult.bands. */
  readonly bandCorrelation: readonly (readonly (number | null)[])[];
  readonly bandSideToMidDb: readonly (readonly (number | null)[])[];
}
