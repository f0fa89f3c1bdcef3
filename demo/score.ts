import { bell, randomFrom } from './random.ts';

/** A written note. Time in quarter-note beats from the start of the song. */
export interface Note {
  readonly beat: number;
  readonly beats: number;
  /** MIDI number, 69 = A4 = 440 Hz; for drums unused. */
  readonly pitch: number;
  /** 0..1 */
  readonly velocity: number;
  /** Drums: which piece. Voice: the syllable ('na', 'loo', '-' to carry on). */
  readonly word?: string;
}

/** A note as it is played: seconds from the start of the file. */
export interface PlayedNote {
  readonly atSeconds: number;
  readonly seconds: number;
  readonly pitch: number;
  readonly velocity: number;
  readonly word: string;
}

/** Turns beats into seconds. */
export type Clock = (beat: number) => number;

/**
 * A steady pulse from `leadInSeconds` (silence at the head of the file), slowing down evenly over the last beats:
 * from `slowFromBeat` on each beat is `slowBy` (share) longer than the one before.
 */
export function clockOf(
  bpm: number,
  { leadInSeconds = 0.2, slowFromBeat = Number.POSITIVE_INFINITY, slowBy = 0.05 } = {},
): Clock {
  const beatSeconds = 60 / bpm;
  return (beat) => {
    const late = Math.max(0, beat - slowFromBeat);
    return leadInSeconds + beatSeconds * (beat + (slowBy * late * late) / 2);
  };
}

/** How a player plays, as against how it is written. */
export interface Feel {
  /** Standard deviation of the time of each note, s. */
  readonly looseSeconds?: number;
  /** Constant lateness, s (negative: ahead of the beat). */
  readonly lateSeconds?: number;
  /** Standard deviation of velocity. */
  readonly touch?: number;
  /** Share of the grid step by which every second step comes late. */
  readonly swing?: number;
  /** Swing grid, beats. */
  readonly grid?: number;
}

/**
 * Plays written notes: swing, a constant lean, note-to-note looseness and a slow drift that all notes of the player share.
 * Notes of one chord keep together (one draw a beat position, a tenth of it a note).
 */
export function play(notes: readonly Note[], clock: Clock, feel: Feel, seed: string): PlayedNote[] {
  const { looseSeconds = 0.006, lateSeconds = 0, touch = 0.05, swing = 0, grid = 0.25 } = feel;
  const random = randomFrom(seed);
  const sorted = [...notes].sort((a, b) => a.beat - b.beat || a.pitch - b.pitch);
  let drift = 0;
  let together = 0;
  let lastBeat = Number.NEGATIVE_INFINITY;
  return sorted.map((note) => {
    if (note.beat !== lastBeat) {
      drift = 0.92 * drift + 0.3 * looseSeconds * bell(random);
      together = looseSeconds * bell(random);
      lastBeat = note.beat;
    }
    const step = note.beat / grid;
    const odd = Math.abs(step - Math.round(step)) < 1e-6 && Math.round(step) % 2 === 1;
    const beat = note.beat + (odd ? swing * grid : 0);
    const own = 0.1 * looseSeconds * bell(random);
    const atSeconds = Math.max(0.06, clock(beat) + lateSeconds + drift + together + own);
    return {
      atSeconds,
      seconds: Math.max(0.02, clock(note.beat + note.beats) - clock(note.beat)),
      pitch: note.pitch,
      velocity: Math.max(0.05, Math.min(1, note.velocity + touch * bell(random))),
      word: note.word ?? '',
    };
  });
}

export function hertz(pitch: number): number {
  return 440 * 2 ** ((pitch - 69) / 12);
}
