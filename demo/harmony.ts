/** A chord as players see it: pitch classes 0 (C) .. 11 (B). */
export interface Chord {
  readonly root: number;
  /** Lowest note; differs from the root in inversions ('D/F#'). */
  readonly bass: number;
  /** Distinct, root first, in thirds. */
  readonly classes: readonly number[];
}

const letters: Readonly<Record<string, number>> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };

const qualities: Readonly<Record<string, readonly number[]>> = {
  '': [0, 4, 7],
  m: [0, 3, 7],
  '5': [0, 7],
  '6': [0, 4, 7, 9],
  '7': [0, 4, 7, 10],
  m7: [0, 3, 7, 10],
  maj7: [0, 4, 7, 11],
  maj9: [0, 4, 7, 11, 14],
  m9: [0, 3, 7, 10, 14],
  add9: [0, 4, 7, 14],
  sus4: [0, 5, 7],
  sus2: [0, 2, 7],
  '7sus4': [0, 5, 7, 10],
  '9': [0, 4, 7, 10, 14],
  dim: [0, 3, 6],
};

/** 'F#' -> 6, 'Bb' -> 10. */
function pitchClass(name: string): number {
  const base = letters[name[0]];
  if (base === undefined) throw new RangeError(`no note of the name ${name}`);
  const shift = name[1] === '#' ? 1 : name[1] === 'b' ? 11 : 0;
  return (base + shift) % 12;
}

/** 'F#4' -> 66 (C4 = 60). */
export function pitchOf(name: string): number {
  const match = /^([A-G][#b]?)(-?\d)$/.exec(name);
  if (!match) throw new RangeError(`no pitch of the name ${name}`);
  const flatC = match[1] === 'Cb' ? -12 : 0;
  return pitchClass(match[1]) + 12 * (Number(match[2]) + 1) + flatC;
}

/** Reads 'Bm7', 'D/F#', 'Gmaj9', 'A7sus4'. */
export function chordOf(symbol: string): Chord {
  const match = /^([A-G][#b]?)([^/]*)(?:\/([A-G][#b]?))?$/.exec(symbol);
  const intervals = match && qualities[match[2]];
  if (!match || !intervals) throw new RangeError(`no chord of the name ${symbol}`);
  const root = pitchClass(match[1]);
  return {
    root,
    bass: match[3] ? pitchClass(match[3]) : root,
    classes: intervals.map((interval) => (root + interval) % 12),
  };
}

/** The lowest pitch of class `wanted` at or above `floor`. */
export function atOrAbove(wanted: number, floor: number): number {
  return floor + ((((wanted - floor) % 12) + 12) % 12);
}

/**
 * Close voicing of the chord that moves least from `previous` (keyboards, strings). `count` voices between
 * `low` and `low + 19`; with more voices than classes the lowest is doubled above.
 */
export function voiceLed(
  chord: Chord,
  previous: readonly number[] | null,
  low: number,
  count: number,
): number[] {
  let best: number[] = [];
  let bestCost = Number.POSITIVE_INFINITY;
  for (let start = low; start < low + 12; start++) {
    if (!chord.classes.includes(start % 12)) continue;
    const voices: number[] = [];
    for (let pitch = start; voices.length < count && pitch < start + 24; pitch++)
      if (chord.classes.includes(pitch % 12)) voices.push(pitch);
    const cost = previous
      ? voices.reduce((sum, v, i) => sum + Math.abs(v - (previous[i] ?? v)), 0) +
        Math.abs(start - low - 4) * 0.3
      : Math.abs(start - low - 3);
    if (cost < bestCost) {
      bestCost = cost;
      best = voices;
    }
  }
  return best;
}

/** Standard tuning, low to high. */
const strings = [40, 45, 50, 55, 59, 64];

/** An open-position guitar shape: a pitch a string, low to high, null where the string is not played. */
export function guitarShape(chord: Chord, fret = 0): (number | null)[] {
  let bassFound = false;
  return strings.map((open, index) => {
    const wanted = bassFound ? chord.classes : [chord.bass];
    for (let f = fret; f <= fret + 4; f++) {
      if (!wanted.includes((open + f) % 12)) continue;
      bassFound = true;
      return open + f;
    }
    // The bass must sit on one of the three low strings; a shape without one is played without it.
    if (!bassFound && index >= 2) bassFound = true;
    return null;
  });
}

/** Moves a pitch by `steps` degrees of the major scale on `tonic` (pitch class): the usual way to sing a third above. */
export function scaleStep(pitch: number, tonic: number, steps: number): number {
  const scale = [0, 2, 4, 5, 7, 9, 11];
  const fromTonic = (((pitch - tonic) % 12) + 12) % 12;
  let degree = 0;
  for (let i = 0; i < 7; i++) if (scale[i] <= fromTonic) degree = i;
  const off = fromTonic - scale[degree];
  const octave = (pitch - tonic - fromTonic) / 12;
  const target = degree + steps;
  const turned = ((target % 7) + 7) % 7;
  return tonic + 12 * (octave + Math.floor(target / 7)) + scale[turned] + (steps % 7 === 0 ? off : 0);
}
