import { type PlacedSection, steps } from '../form.ts';
import { atOrAbove } from '../harmony.ts';
import type { Note } from '../score.ts';

/**
 * Reads a bass pattern over the chords of a section. Marks: 1 the bass note, 3 5 7 chord notes above it, 8 the octave,
 * a the semitone below the next chord's bass, '-' silence. `low` is the lowest pitch used (28 = open E).
 */
export function bassLine(
  section: PlacedSection,
  beatsPerBar: number,
  pattern: string,
  { low = 28, level = 0.75, length = 0.92 } = {},
): Note[] {
  return steps(section, beatsPerBar, pattern).flatMap((step) => {
    if (step.mark === '-') return [];
    const { chord } = step.chord;
    const base = atOrAbove(chord.bass, low);
    const next = section.chords[section.chords.indexOf(step.chord) + 1] ?? section.chords[0];
    const above = (index: number) =>
      atOrAbove(chord.classes[Math.min(index, chord.classes.length - 1)], base);
    const pitches: Readonly<Record<string, number>> = {
      '1': base,
      '3': above(1),
      '5': above(2),
      '7': above(3),
      '8': base + 12,
      a: Math.max(low, atOrAbove(next.chord.bass, low) - 1),
    };
    const pitch = pitches[step.mark];
    if (pitch === undefined) throw new RangeError(`no bass mark '${step.mark}'`);
    const onBeat = step.beat % 1 === 0;
    return [
      {
        beat: step.beat,
        beats: Math.max(0.1, step.beats * length),
        pitch,
        velocity: level * (step.mark === '1' && onBeat ? 1 : 0.86),
      },
    ];
  });
}
