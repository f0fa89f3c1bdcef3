import type { SameSong, SectionChange } from '../compare/change-result.ts';
import type { Span } from '../measure/span.ts';
import { type BandRange, changedRanges } from './change-words.ts';
import { figure, size, withUnit } from './wording.ts';

/** One thing that the maker of one master did and that of another did not. */
export interface Lesson {
  readonly what: 'gain' | 'tone' | 'dynamics' | 'width' | 'low-end' | 'ceiling';
  readonly sentence: string;
  /** Where it is heard best, in the time of the other; null where no place is better than another. */
  readonly place: Span | null;
}

/** Levels of a whole file. */
export interface LessonLevels {
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
}

// From where a difference is worth a sentence (heuristics: about what can be heard when switching back and forth).
const told = {
  gainLu: 0.3,
  bandDb: 0.7,
  sectionDb: 0.7,
  plrDb: 0.5,
  widthDb: 0.7,
  lowWidthDb: 3,
  ceilingDb: 0.2,
};
const mostRanges = 3;
/** Below it, width is a question of its own (common practice). */
const lowEndHz = 120;
/** A loop longer than this is no loop (by feel). */
const longestLoopSeconds = 12;

/**
 * What a maker did differently, what weighs most in tone first: from `change`, whose B is that maker's master and whose A is
 * the one that it is held against.
 */
export function lessonsOf(
  same: SameSong,
  levels: { readonly entry: LessonLevels; readonly against: LessonLevels },
  names: { readonly entry: string; readonly against: string },
): Lesson[] {
  return [
    ...tone(same, names),
    ...lowEnd(same, names),
    ...dynamics(same, names),
    ...width(same, names),
    ...gain(same, names),
    ...ceiling(levels, names),
  ];
}

type Names = Parameters<typeof lessonsOf>[2];

const hertz = (value: number): string =>
  value >= 1000 ? `${figure(value / 1000, value % 1000 ? 1 : 0)} kHz` : `${value} Hz`;

function tone({ tone: whole, sections }: SameSong, { entry, against }: Names): Lesson[] {
  return changedRanges(whole)
    .slice(0, mostRanges)
    .map((range) => {
      const { fromHz, toHz, changeDb } = range;
      const where = fromHz === toHz ? `around ${hertz(fromHz)}` : `from ${hertz(fromHz)} to ${hertz(toHz)}`;
      const best = strongest(sections, (section) => Math.sign(changeDb) * within(section, range));
      return {
        what: 'tone',
        sentence: `At equal loudness ${entry} has ${size(changeDb, 'dB')} ${changeDb > 0 ? 'more' : 'less'} than ${against} ${where}${best ? `, most of it (${size(within(best, range), 'dB')}) in section ${best.label}` : ''}.`,
        place: loopOf(best),
      };
    });
}

/** Mean change of a section within a range, dB. */
function within({ centresHz, changeDb }: SectionChange, { fromHz, toHz }: BandRange): number {
  const inside = changeDb.filter((db, i) => db !== null && centresHz[i] >= fromHz && centresHz[i] <= toHz);
  return inside.length === 0 ? 0 : inside.reduce<number>((sum, db) => sum + (db ?? 0), 0) / inside.length;
}

function lowEnd(
  { width: change, tone: { centresHz }, sections }: SameSong,
  { entry, against }: Names,
): Lesson[] {
  const low = (change?.sideToMidByBandDb ?? []).filter((db, i) => db !== null && centresHz[i] <= lowEndHz);
  if (low.length === 0) return [];
  const mean = low.reduce<number>((sum, db) => sum + (db ?? 0), 0) / low.length;
  if (Math.abs(mean) < told.lowWidthDb) return [];
  return [
    {
      what: 'low-end',
      sentence: `Below ${lowEndHz} Hz ${entry} is ${mean < 0 ? 'closer to mono' : 'wider'} than ${against}: what differs between the sides is ${size(mean, 'dB')} ${mean < 0 ? 'weaker' : 'stronger'}.`,
      place: loopOf(strongest(sections, ({ startSeconds, endSeconds }) => endSeconds - startSeconds)),
    },
  ];
}

function dynamics({ dynamics: { plrDb, rangeLu }, sections }: SameSong, { entry, against }: Names): Lesson[] {
  const lessons: Lesson[] = [];
  if (plrDb !== null && Math.abs(plrDb) >= told.plrDb)
    lessons.push({
      what: 'dynamics',
      sentence: `In ${entry} the hits stand ${size(plrDb, 'dB')} ${plrDb < 0 ? 'less' : 'more'} above the body of the sound than in ${against}: it was squeezed ${plrDb < 0 ? 'harder' : 'less'}.`,
      place: loopOf(strongest(sections, ({ levelDb }) => Math.sign(plrDb) * levelDb)),
    });
  const moved = strongest(sections, ({ levelDb }) => Math.abs(levelDb));
  if (moved && Math.abs(moved.levelDb) >= told.sectionDb)
    lessons.push({
      what: 'dynamics',
      sentence: `Against the rest of the song ${entry} has section ${moved.label} ${size(moved.levelDb, 'dB')} ${moved.levelDb > 0 ? 'louder' : 'quieter'} than ${against}${rangeLu !== null && Math.abs(rangeLu) >= 0.5 ? `; loud and quiet parts lie ${size(rangeLu, 'LU')} ${rangeLu < 0 ? 'closer together' : 'farther apart'}` : ''}.`,
      place: loopOf(moved),
    });
  return lessons;
}

function width({ width: change, sections }: SameSong, { entry, against }: Names): Lesson[] {
  const db = change?.sideToMidDb ?? null;
  if (db === null || Math.abs(db) < told.widthDb) return [];
  return [
    {
      what: 'width',
      sentence: `${entry} is ${db > 0 ? 'wider' : 'narrower'} than ${against}: what differs between the sides moved by ${size(db, 'dB')}.`,
      place: loopOf(strongest(sections, ({ startSeconds, endSeconds }) => endSeconds - startSeconds)),
    },
  ];
}

function gain({ gainDb }: SameSong, { entry, against }: Names): Lesson[] {
  if (Math.abs(gainDb) < told.gainLu) return [];
  return [
    {
      what: 'gain',
      sentence: `As delivered ${entry} is ${size(gainDb, 'LU')} ${gainDb > 0 ? 'louder' : 'quieter'} than ${against}; nobody heard that, because all were equally loud.`,
      place: null,
    },
  ];
}

function ceiling(levels: Parameters<typeof lessonsOf>[1], { entry, against }: Names): Lesson[] {
  const [a, b] = [levels.against.truePeakDbtp, levels.entry.truePeakDbtp];
  if (a === null || b === null || Math.abs(b - a) < told.ceilingDb) return [];
  return [
    {
      what: 'ceiling',
      sentence: `The highest true peak of ${entry} is ${withUnit(b, 'dBTP')}, that of ${against} ${withUnit(a, 'dBTP')}.`,
      place: null,
    },
  ];
}

function strongest(
  sections: readonly SectionChange[],
  strength: (section: SectionChange) => number,
): SectionChange | null {
  return sections.reduce<SectionChange | null>(
    (best, section) => (best === null || strength(section) > strength(best) ? section : best),
    null,
  );
}

function loopOf(section: SectionChange | null): Span | null {
  if (!section) return null;
  const { startSeconds, endSeconds } = section;
  return { startSeconds, endSeconds: Math.min(endSeconds, startSeconds + longestLoopSeconds) };
}
