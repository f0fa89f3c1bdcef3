import type { SourceId } from './sources.ts';

/** A figure of a profile: where the bound lies, what crossing it weighs, and by whose word. */
export interface ProfileBound {
  readonly severity: 'mend' | 'look';
  readonly limit: number;
  readonly source: SourceId;
  /** How far beyond the limit still meets it, in the unit of the limit. Default 0. */
  readonly slack?: number;
}

/** How loud the whole song is to be. */
export interface LoudnessAim {
  /** Integrated loudness aimed at, LUFS. */
  readonly targetLufs: number;
  /** How far above and below it still meets it, LU. */
  readonly louderLu: number;
  readonly quieterLu: number;
  /**
   * player: whoever plays the song turns it to the target by himself, so the file is told what happens to it.
   * delivery: the file itself must be there, and is sent back when it is not.
   */
  readonly by: 'player' | 'delivery';
  readonly severity: 'mend' | 'look';
  readonly source: SourceId;
}

/** Bounds of one figure, worst first; empty where the profile says nothing of it. */
export type ProfileBounds = readonly ProfileBound[];

/**
 * Where a song is going and what is asked of it there: data only. The rules read it for their limits
 * (src/judge/rule.ts), so that the same measurement can be held against any profile without measuring again.
 */
export interface Profile {
  /** Stable, kebab-case: what the command line and the interface ask for. */
  readonly id: string;
  /** The trade's plain name, as it is shown. */
  readonly name: string;
  /** One sentence: what it is for and on whose figures it rests. */
  readonly about: string;
  /** What can be done with a file that has nothing to mend, as the end of a sentence. */
  readonly ready: string;
  /** null: no loudness is asked for. */
  readonly loudness: LoudnessAim | null;
  /** Highest true peak, dBTP. */
  readonly truePeak: ProfileBounds;
  /** Whose ceiling that is, as it stands in brackets behind it ('EBU R 128 and AES TD1008'). */
  readonly truePeakBy: string;
  /** Least distance from integrated loudness to true peak, dB. */
  readonly plr: ProfileBounds;
  /** Sample rates that are taken, Hz; null: any that a release is made at. */
  readonly sampleRatesHz: readonly number[] | null;
  /** Bits a sample that are taken; null: 16 or more. */
  readonly bitDepths: readonly number[] | null;
  /** What a sample rate or bit depth outside these weighs, and by whose word. */
  readonly format: { readonly severity: 'mend' | 'look'; readonly source: SourceId };
  /**
   * Rules that weigh otherwise here, by id. mend: whatever crosses a bound is to mend. look: never more than a
   * look. leave: not asked at all.
   */
  readonly weights: Readonly<Record<string, 'mend' | 'look' | 'leave'>>;
}
