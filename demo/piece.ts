import type { Needs } from './mastering/takes.ts';
import type { Stereo } from './mixing/stereo.ts';

/** A piece of music that the house can play. */
export interface Piece {
  /** Stable, lower case with hyphens; also the seed of everything that chance decides in it. */
  readonly id: string;
  readonly title: string;
  readonly artist: string;
  readonly sampleRate: number;
  /** What it needs when it is mastered. */
  readonly needs: Needs;
  /** Plays and mixes it; `sections` plays only that many from the start (for tests). */
  mix(sections?: number): Stereo;
}
