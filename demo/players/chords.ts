import { type PlacedSection, steps } from '../form.ts';
import { atOrAbove, guitarShape, voiceLed } from '../harmony.ts';
import type { Note } from '../score.ts';

const loudness: Readonly<Record<string, number>> = {
  D: 0.85,
  d: 0.6,
  U: 0.7,
  u: 0.45,
  X: 0.9,
  x: 0.65,
  o: 0.4,
};

/** Seconds of travel are given as beats: a strum of six strings takes about 0.03 beat down, a little less up. */
const strumBeatsPerString = 0.013;

/**
 * Strummed guitar. Marks: D/d down (loud/soft), U/u up, x muted stroke. Up-strokes catch only the high strings.
 */
export function strum(
  section: PlacedSection,
  beatsPerBar: number,
  pattern: string,
  level = 1,
  fret = 0,
): Note[] {
  return steps(section, beatsPerBar, pattern).flatMap((step) => {
    const shape = guitarShape(step.chord.chord, fret);
    const sounding = shape.flatMap((pitch, string) => (pitch === null ? [] : [{ pitch, string }]));
    const up = step.mark === 'U' || step.mark === 'u';
    const muted = step.mark === 'x';
    const picked = up ? sounding.slice(-4).reverse() : sounding;
    return picked.map(({ pitch, string }, i) => ({
      beat: step.beat + i * strumBeatsPerString,
      beats: muted ? 0.06 : Math.max(0.2, step.beats + 0.02),
      pitch,
      velocity: level * (loudness[step.mark] ?? 0.6) * (up ? 1 - 0.06 * i : 0.86 + 0.03 * string),
      word: String(string),
    }));
  });
}

/** Finger-picked guitar. Marks 0..5: which sounding string from the bass up; each rings until its string is picked again. */
export function fingerpick(section: PlacedSection, beatsPerBar: number, pattern: string, level = 1): Note[] {
  return steps(section, beatsPerBar, pattern).map((step) => {
    const sounding = guitarShape(step.chord.chord).filter((pitch) => pitch !== null);
    const index = Math.min(Number(step.mark), sounding.length - 1);
    const untilChange = step.chord.beat + step.chord.beats - step.beat;
    return {
      beat: step.beat,
      beats: Math.max(step.beats, untilChange),
      pitch: sounding[index],
      velocity: level * (index === 0 ? 0.78 : index >= 4 ? 0.66 : 0.55),
      word: String(index),
    };
  });
}

/** Keyboard chords in close, voice-led position. Marks X x o: loud, plain, soft; '-' lifts the hands. */
export function comp(
  section: PlacedSection,
  beatsPerBar: number,
  pattern: string,
  { low = 55, voices = 4, level = 1, short = 0 } = {},
): Note[] {
  let previous: number[] | null = null;
  return steps(section, beatsPerBar, pattern).flatMap((step) => {
    if (step.mark === '-') return [];
    previous = voiceLed(step.chord.chord, previous, low, voices);
    return previous.map((pitch, i) => ({
      beat: step.beat + i * 0.006,
      beats: short > 0 ? short : step.beats * 0.96,
      pitch,
      velocity: level * (loudness[step.mark] ?? 0.6) * (i === previous!.length - 1 ? 1 : 0.88),
    }));
  });
}

/** Broken chords. Marks 0..9: which voice of the voice-led chord, counted up through the octaves. */
export function arpeggio(
  section: PlacedSection,
  beatsPerBar: number,
  pattern: string,
  { low = 60, voices = 4, level = 0.6, hold = 1 } = {},
): Note[] {
  let previous: number[] | null = null;
  let lastChord = -1;
  return steps(section, beatsPerBar, pattern).map((step) => {
    if (step.chord.beat !== lastChord) {
      previous = voiceLed(step.chord.chord, previous, low, voices);
      lastChord = step.chord.beat;
    }
    const chord = previous!;
    const mark = Number(step.mark);
    return {
      beat: step.beat,
      beats: Math.max(step.beats, hold),
      pitch: chord[mark % chord.length] + 12 * Math.floor(mark / chord.length),
      velocity: level * (step.beat % 1 === 0 ? 1.1 : 0.9),
    };
  });
}

/** One held, voice-led chord a change (strings, pads, organ). */
export function held(
  section: PlacedSection,
  { low = 52, voices = 4, level = 0.6, overlap = 0.1 } = {},
): Note[] {
  let previous: number[] | null = null;
  return section.chords.flatMap((placed) => {
    previous = voiceLed(placed.chord, previous, low, voices);
    return previous.map((pitch) => ({
      beat: placed.beat,
      beats: placed.beats + overlap,
      pitch,
      velocity: level,
    }));
  });
}

/** Root and fifth (and octave) for driven guitars, marks as in `strum`. */
export function powerChords(section: PlacedSection, beatsPerBar: number, pattern: string, level = 1): Note[] {
  return steps(section, beatsPerBar, pattern).flatMap((step) => {
    const root = atOrAbove(step.chord.chord.root, 40);
    const muted = step.mark === 'x';
    return [root, root + 7, root + 12].map((pitch, i) => ({
      beat: step.beat + i * 0.008,
      beats: muted ? 0.14 : step.beats * 0.97,
      pitch,
      velocity: level * (loudness[step.mark] ?? 0.6),
      word: String(i),
    }));
  });
}
