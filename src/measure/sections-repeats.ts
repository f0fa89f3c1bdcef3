import type { SectionFeatures } from './sections-features.ts';

// Heuristics, set on the demo songs.

/** Sections whose mean tone differs by more than this (in units of the features' restlessness) are no repeats. */
const furthestTone = 0.45;
/** Likeness of their notes in order of time, -1..1, from which two sections are repeats. */
const leastLikeness = 0.55;
/** The shorter of two repeats lasts at least this share of the longer. */
const leastLengthShare = 0.5;
/** Sections are laid over each other with up to this much shift, because their beginnings are known to about that, s. */
const mostShiftSeconds = 2.2;
/** Share of the shorter section that must overlap. */
const leastOverlap = 0.7;

/**
 * Which sections repeat which: the same letter for those with the same tone and the same notes in the same order,
 * letters in order of appearance.
 *
 * @param starts rows at which the sections begin
 */
export function labels(features: SectionFeatures, starts: readonly number[], stepSeconds: number): string[] {
  const sections = starts.map((from, i) => ({ from, to: starts[i + 1] ?? features.tone.length }));
  const tones = sections.map(({ from, to }) => meanOf(features.tone.slice(from, to)));
  const shift = Math.round(mostShiftSeconds / stepSeconds);
  const kinds: number[] = [];
  let kindCount = 0;
  sections.forEach((section, i) => {
    let best = leastLikeness;
    let kind = -1;
    for (let earlier = 0; earlier < i; earlier++) {
      const other = sections[earlier];
      const [short, long] = [section.to - section.from, other.to - other.from].sort((a, b) => a - b);
      if (short < leastLengthShare * long || distance(tones[i], tones[earlier]) > furthestTone) continue;
      const likeness = noteLikeness(features.pitch, other, section, shift);
      if (likeness > best) [best, kind] = [likeness, kinds[earlier]];
    }
    kinds.push(kind >= 0 ? kind : kindCount++);
  });
  return kinds.map(letter);
}

/** A, B, ... Z, AA, AB, ... */
function letter(kind: number): string {
  const last = String.fromCharCode(65 + (kind % 26));
  return kind < 26 ? last : letter(Math.floor(kind / 26) - 1) + last;
}

interface Rows {
  readonly from: number;
  readonly to: number;
}

/** Mean cosine of the pitch classes of two sections laid over each other, at the shift where it is highest. */
function noteLikeness(pitch: readonly Float64Array[], a: Rows, b: Rows, mostShift: number): number {
  const short = Math.min(a.to - a.from, b.to - b.from);
  let best = -1;
  for (let shift = -mostShift; shift <= mostShift; shift++) {
    let sum = 0;
    let count = 0;
    for (let i = Math.max(0, -shift); i < short; i++) {
      const [x, y] = [a.from + i, b.from + i + shift];
      if (x >= a.to || y >= b.to) break;
      for (let k = 0; k < 12; k++) sum += pitch[x][k] * pitch[y][k];
      count++;
    }
    if (count >= leastOverlap * short && count > 0) best = Math.max(best, sum / count);
  }
  return best;
}

function meanOf(rows: readonly Float64Array[]): Float64Array {
  const mean = new Float64Array(rows[0].length);
  for (const row of rows) for (let k = 0; k < mean.length; k++) mean[k] += row[k] / rows.length;
  return mean;
}

function distance(a: Float64Array, b: Float64Array): number {
  return Math.sqrt(a.reduce((sum, x, k) => sum + (x - b[k]) ** 2, 0) / a.length);
}
