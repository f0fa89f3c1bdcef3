import { integratedLufs, powerOf } from './gating.ts';
import type { PitchTrace } from './pitch-over-time.ts';
import { sectionFeatures } from './sections-features.ts';
import { partition } from './sections-partition.ts';
import { labels } from './sections-repeats.ts';
import type { BandTrace } from './tone-over-time.ts';

/** A stretch of a song with one arrangement: an intro, a verse, a chorus. */
export interface Section {
  readonly startSeconds: number;
  readonly endSeconds: number;
  /** 'A', 'B', ... in order of appearance; sections with the same letter repeat each other. */
  readonly label: string;
  /** Integrated loudness of this section alone (BS.1770-5, its gates included), LUFS; null when too short or too quiet. */
  readonly loudnessLufs: number | null;
}

/** The form of a song. Heuristic: for finding one's way and for comparing like with like, never for a verdict. */
export interface SectionsResult {
  /** In order of time, without gaps, from 0 to the end of the sound; empty when there is no sound. */
  readonly sections: readonly Section[];
  /** Index of the loudest section of at least 6 s (of any, when none is as long); null when none has a loudness. */
  readonly loudest: number | null;
  /** Index of the quietest such section. */
  readonly quietest: number | null;
}

/** What of the loudness trace is read: momentary loudness, each value at the end of its window. */
export interface MomentaryTrace {
  readonly stepSeconds: number;
  readonly momentaryLufs: readonly (number | null)[];
}

/** Price of a cut, in mean squared distance times seconds (heuristic, set on the demo songs). */
const cutPriceSeconds = 1.15;
/** Shortest section, s (heuristic: two bars of a quick song). */
const shortestSeconds = 4;
/** Shortest section that can stand for the song, s (heuristic). */
const representativeSeconds = 6;

/** Where a song changes and what repeats; nothing yet of how loud it is. */
export interface SongForm {
  /** One a section, in order of time, from 0 on; empty for a sound too short for a single step. */
  readonly startSeconds: readonly number[];
  /** 'A', 'B', ... one a section. */
  readonly labels: readonly string[];
}

/**
 * Finds where a song changes and what repeats, from its tone and notes over time.
 * @param bands,pitch traces of the same frames
 */
export function findForm(bands: BandTrace, pitch: PitchTrace): SongForm {
  const { stepSeconds, firstSeconds } = bands;
  const features = sectionFeatures(bands, pitch);
  const fewest = Math.max(2, Math.round(shortestSeconds / stepSeconds));
  const starts = partition(features.tone, cutPriceSeconds / stepSeconds, fewest);
  // Steps lie in the middle of what they look at; what is before and after the music goes with its first and last section.
  const startSeconds = starts.map((row, i) =>
    i === 0 ? 0 : firstSeconds + (features.firstStep + row - 0.5) * stepSeconds,
  );
  return { startSeconds, labels: labels(features, starts, stepSeconds) };
}

/**
 * The sections of a song with their loudness.
 * @param loudness trace of the same sound
 * @param seconds its length
 */
export function sectionsOf(form: SongForm, loudness: MomentaryTrace, seconds: number): SectionsResult {
  // Too short for a single step: one section all the same.
  const isWhole = form.labels.length === 0 && seconds > 0;
  const { startSeconds, labels: names } = isWhole ? { startSeconds: [0], labels: ['A'] } : form;
  const sections = names.map((label, i) => {
    const [start, end] = [startSeconds[i], startSeconds[i + 1] ?? seconds];
    return {
      startSeconds: start,
      endSeconds: end,
      label,
      loudnessLufs: loudnessWithin(loudness, start, end),
    };
  });
  const byLoudness = ranked(sections);
  return { sections, loudest: byLoudness.at(-1) ?? null, quietest: byLoudness[0] ?? null };
}

/** Sections that can stand for the song, quietest first. */
function ranked(sections: readonly Section[]): number[] {
  const measured = [...sections.keys()].filter((i) => sections[i].loudnessLufs !== null);
  const long = measured.filter(
    (i) => sections[i].endSeconds - sections[i].startSeconds >= representativeSeconds,
  );
  const level = (i: number) => sections[i].loudnessLufs ?? 0;
  return (long.length > 0 ? long : measured).sort((a, b) => level(a) - level(b));
}

/** Gated loudness of the momentary windows that lie within a span. */
function loudnessWithin(trace: MomentaryTrace, startSeconds: number, endSeconds: number): number | null {
  const windowSeconds = 0.4;
  const powers: number[] = [];
  const slack = 1e-6;
  for (let i = 0; i < trace.momentaryLufs.length; i++) {
    const end = (i + 1) * trace.stepSeconds;
    const lufs = trace.momentaryLufs[i];
    if (lufs !== null && end - windowSeconds >= startSeconds - slack && end <= endSeconds + slack)
      powers.push(powerOf(lufs));
  }
  return integratedLufs(powers);
}
