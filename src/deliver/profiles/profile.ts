import type { LossyChoice } from '../../audio/lossy.ts';
import type { SourceId } from '../../judge/sources.ts';

/** What a delivery is made of. */
export type DeliveryShape =
  /** A file for each song, cut from the record as it plays, gaps and all. */
  | 'songs'
  /** One file for the record, with a cue sheet. */
  | 'image'
  /** A file for each side. */
  | 'sides'
  /** What each song has besides itself: its instrumental and its clean variant. */
  | 'variants'
  /** A folder of stems for each song. */
  | 'stems';

export type DeliveryContainer = 'WAV' | 'AIFF' | 'FLAC' | 'MP3' | 'MP4';

/** A kind of delivery as a contract: what every file of it must be. Data only; src/deliver/proof holds files against it. */
export interface DeliveryProfile {
  /** Stable, kebab-case: also the name of its folder. */
  readonly id: string;
  readonly name: string;
  /** One sentence: what it is for. */
  readonly about: string;
  readonly shape: DeliveryShape;
  readonly container: DeliveryContainer;
  /** Hz; 'native': the highest rate among the songs, so that nothing is lost. */
  readonly sampleRate: number | 'native';
  /** Bits a sample; null for lossy codings. */
  readonly bits: 16 | 24 | null;
  readonly lossy: LossyChoice | null;
  /**
   * Highest true peak of a file, dBTP. Where songs go higher, the record as a whole is turned down: nothing is limited here,
   * and what is louder than what stays so.
   */
  readonly ceiling: { readonly dbtp: number; readonly slackDb: number; readonly source: SourceId } | null;
  /** Loudness that every file is brought to by turning it up or down; null: as loud as it is. */
  readonly loudness: {
    readonly lufs: number;
    readonly toleranceLu: number;
    readonly source: SourceId;
  } | null;
  /** Lossy formats (ids of src/survive) that every file is coded in and decoded again, and the level to stay under, dBTP. */
  readonly survive: { readonly formatIds: readonly string[]; readonly limitDbtp: number } | null;
  /** With a bext chunk (EBU Tech 3285). */
  readonly bext: boolean;
  /** Grid on which songs begin, frames: 588 on a disc (IEC 60908), 1 elsewhere. */
  readonly gridFrames: number;
  /** Whether songs must have an ISRC, and the record a UPC or EAN. */
  readonly wantsCodes: boolean;
}
