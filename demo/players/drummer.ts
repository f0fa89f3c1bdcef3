import { type PlacedSection, steps } from '../form.ts';
import type { Note } from '../score.ts';

const accents: Readonly<Record<string, number>> = { X: 0.95, x: 0.72, o: 0.4, g: 0.2 };

/** What each piece of the kit plays: patterns of X (accent), x, o (soft), g (ghost). */
export type Groove = Readonly<Record<string, string>>;

/** Lays a groove over a section; `leaveLast` beats at its end are left free for a fill. */
export function groove(
  section: PlacedSection,
  beatsPerBar: number,
  pieces: Groove,
  { level = 1, leaveLast = 0 } = {},
): Note[] {
  const end = section.beat + section.beats - leaveLast;
  return Object.entries(pieces).flatMap(([word, pattern]) =>
    steps(section, beatsPerBar, pattern)
      .filter((step) => step.beat < end - 1e-6)
      .map((step) => ({
        beat: step.beat,
        beats: 0.1,
        pitch: 0,
        velocity: level * (accents[step.mark] ?? 0.6),
        word,
      })),
  );
}

/** A fill that ends with the section: each piece's pattern is squeezed into the last `beats`. */
export function fill(section: PlacedSection, beats: number, pieces: Groove, level = 1): Note[] {
  const start = section.beat + section.beats - beats;
  return Object.entries(pieces).flatMap(([word, pattern]) => {
    const marks = pattern.replaceAll(' ', '');
    return [...marks].flatMap((mark, i) => {
      if (mark === '.') return [];
      // A fill grows towards the next bar.
      const grow = 0.85 + (0.15 * i) / marks.length;
      return [
        {
          beat: start + (beats * i) / marks.length,
          beats: 0.1,
          pitch: 0,
          velocity: level * grow * (accents[mark] ?? 0.6),
          word,
        },
      ];
    });
  });
}

/** One hit. */
export function hit(word: string, beat: number, velocity = 0.85): Note {
  return { beat, beats: 0.1, pitch: 0, velocity, word };
}
