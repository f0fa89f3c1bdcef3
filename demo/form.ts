import { type Chord, chordOf } from './harmony.ts';

/** A part of a song as written: bars parted by '|', chords within a bar by blanks ('D | G A'). */
export interface Section {
  readonly name: string;
  readonly chords: string;
}

export interface PlacedChord {
  readonly beat: number;
  readonly beats: number;
  readonly chord: Chord;
}

export interface PlacedSection {
  readonly name: string;
  /** 0 for the first verse, 1 for the second, ... */
  readonly turn: number;
  readonly beat: number;
  readonly bars: number;
  readonly beats: number;
  readonly chords: readonly PlacedChord[];
}

/** The plan of a song: sections one after another. */
export interface Form {
  readonly beatsPerBar: number;
  readonly beats: number;
  readonly sections: readonly PlacedSection[];
}

export function formOf(beatsPerBar: number, sections: readonly Section[]): Form {
  let beat = 0;
  const turns = new Map<string, number>();
  const placed = sections.map((section) => {
    const bars = section.chords.split('|').map((bar) => bar.trim().split(/\s+/));
    const start = beat;
    const chords: PlacedChord[] = [];
    for (const bar of bars) {
      const beats = beatsPerBar / bar.length;
      for (const symbol of bar) {
        chords.push({ beat, beats, chord: chordOf(symbol) });
        beat += beats;
      }
    }
    const turn = turns.get(section.name) ?? 0;
    turns.set(section.name, turn + 1);
    return { name: section.name, turn, beat: start, bars: bars.length, beats: beat - start, chords };
  });
  return { beatsPerBar, beats: beat, sections: placed };
}

/** The chord that sounds at `beat` of the section (beats from the start of the song). */
export function chordAt(section: PlacedSection, beat: number): PlacedChord {
  const found = section.chords.findLast((chord) => chord.beat <= beat + 1e-6);
  return found ?? section.chords[0];
}

/** One step of a written pattern. */
export interface Step {
  readonly mark: string;
  readonly beat: number;
  /** Beats to the next mark that is not '.', at most to the end of the section. */
  readonly beats: number;
  readonly chord: PlacedChord;
  readonly bar: number;
}

/**
 * Lays a pattern over a section, again and again. A pattern is one or more bars parted by '|'; each character is an
 * even share of the bar; '.' lets the last mark go on; blanks are for the eye.
 */
export function steps(section: PlacedSection, beatsPerBar: number, pattern: string): Step[] {
  const bars = pattern.replaceAll(' ', '').split('|');
  const marks: { mark: string; beat: number; bar: number }[] = [];
  for (let bar = 0; bar < section.bars; bar++) {
    const text = bars[bar % bars.length];
    for (let i = 0; i < text.length; i++) {
      if (text[i] === '.') continue;
      marks.push({ mark: text[i], beat: section.beat + beatsPerBar * (bar + i / text.length), bar });
    }
  }
  const end = section.beat + section.beats;
  return marks.map((m, i) => ({
    ...m,
    beats: (marks[i + 1]?.beat ?? end) - m.beat,
    chord: chordAt(section, m.beat),
  }));
}
