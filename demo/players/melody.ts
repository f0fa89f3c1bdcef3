import { pitchOf, scaleStep } from '../harmony.ts';
import type { Note } from '../score.ts';

/**
 * Reads a tune: 'A4:1.5/na B4:.5 r:1'. Each word is PITCH:BEATS or PITCH:BEATS/SYLLABLE; r is a rest; '|' is for the
 * eye; a word without a syllable carries the last vowel on; a trailing '!' sings or plays it louder, '?' softer.
 */
export function tune(text: string, startBeat: number, velocity = 0.7): Note[] {
  const notes: Note[] = [];
  let beat = startBeat;
  for (const word of text.split(/[\s|]+/).filter(Boolean)) {
    const match = /^([A-G][#b]?\d|r):([\d.]+)(?:\/([a-z]+))?([!?])?$/.exec(word);
    if (!match) throw new RangeError(`cannot read '${word}' in a tune`);
    const beats = Number(match[2]);
    if (match[1] !== 'r') {
      const stress = match[4] === '!' ? 0.15 : match[4] === '?' ? -0.2 : 0;
      const phrase = 0.05 * Math.sin(notes.length * 1.3);
      notes.push({
        beat,
        beats,
        pitch: pitchOf(match[1]),
        velocity: Math.min(1, velocity + stress + phrase),
        word: match[3] ?? '-',
      });
    }
    beat += beats;
  }
  return notes;
}

/** The same tune in parallel, `steps` degrees of the major scale on `tonic` away. */
export function inParallel(notes: readonly Note[], tonic: number, steps: number, softer = 0.1): Note[] {
  return notes.map((n) => ({
    ...n,
    pitch: scaleStep(n.pitch, tonic, steps),
    velocity: Math.max(0.2, n.velocity - softer),
  }));
}
