import type { DeskSource } from '../../src/server/desk-api.ts';
import type { Loop } from './desk-player.ts';

export type Section = DeskSource['sections'][number];

/** One sound that the desk has a number key for. */
export interface Row {
  readonly versionId: string;
  readonly name: string;
  readonly songTitle: string;
  /** A version lies on the song's timeline by alignment, a reference where it was put. */
  readonly role: 'version' | 'reference';
  readonly seconds: number;
  readonly integratedLufs: number | null;
  /** In its own time. */
  readonly sections: readonly Section[];
  readonly loudestSection: number | null;
  readonly aligned: DeskSource['aligned'];
  readonly reason: string | null;
  readonly inverted: boolean;
  readonly swapped: boolean;
  readonly channels: number;
  /** What a service would turn it by, dB. */
  readonly serviceGainDb: number;
  /** Its own time at 0 of the song's timeline, s, and how much of its own time passes in a second of the song's. */
  readonly offsetSeconds: number;
  readonly pace: number;
}

/** Where a reference was put: the start of its section (null: its own beginning) lies at a moment of the song. */
export interface Place {
  readonly section: number | null;
  readonly atSeconds: number;
}

type Lay = Pick<Row, 'offsetSeconds' | 'pace'>;

/** A second of the song's timeline in the file of a row, and back. */
export const ownSeconds = (row: Lay, songSeconds: number) => row.offsetSeconds + songSeconds * row.pace;
export const songSeconds = (row: Lay, own: number) => (own - row.offsetSeconds) / row.pace;

/** Whether a row has sound of its own at a moment of the song. */
export function sounds(row: Row, atSeconds: number): boolean {
  const own = ownSeconds(row, atSeconds);
  return own >= 0 && own < row.seconds;
}

/** The stretch of a row's own file that is heard during a stretch of the song; null when that is nothing. */
export function ownStretch(row: Row, span: Loop): Loop | null {
  const startSeconds = Math.max(0, ownSeconds(row, span.startSeconds));
  const endSeconds = Math.min(row.seconds, ownSeconds(row, span.endSeconds));
  return endSeconds > startSeconds ? { startSeconds, endSeconds } : null;
}

/** A version as a row. Clocks that drift: where one plays slower, more of its own time passes. */
export function versionRow(source: DeskSource): Row {
  const onTimeline = source.aligned === 'aligned';
  return {
    ...source,
    role: 'version',
    offsetSeconds: onTimeline ? source.offsetSeconds : 0,
    pace: onTimeline ? 1 + source.driftPpm * 1e-6 : 1,
  };
}

/** Index of the section that a moment lies in; null outside all of them. */
export function sectionAt(sections: readonly Section[], seconds: number): number | null {
  const index = sections.findIndex((s) => seconds >= s.startSeconds && seconds < s.endSeconds);
  return index < 0 ? null : index;
}

/** How far back still counts as being at a beginning: then 'the section before' is the one before that, s. */
const nearStartSeconds = 1.5;

/** Beginning of the section before or after a moment. */
export function sectionStart(sections: readonly Section[], from: number, direction: -1 | 1): number | null {
  const starts = sections.map(({ startSeconds }) => startSeconds);
  if (direction > 0) return starts.find((start) => start > from + 0.01) ?? null;
  return starts.findLast((start) => start < from - nearStartSeconds) ?? starts[0] ?? null;
}
