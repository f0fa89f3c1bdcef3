import type { PartStanding, SetStanding } from '../compare/reference-set.ts';
import { type SetFigureId, setFigureIds } from '../compare/reference-set-part.ts';
import { type Place, placeIn } from '../compare/reference-set-spread.ts';
import { clockTime, count, sentenceCase, size } from './wording.ts';

/** Fewer references than this say little about how far such songs lie apart (heuristic). */
const fewReferences = 5;
const mostSentences = 5;
/** Of a quiet section: an arrangement that holds back differs from whole songs in many ways, all meant. */
const mostOfQuiet = 2;
/** From where a band is worth a word, dB (heuristic: about what is heard when switching back and forth). */
const bandDb = 1;
/** Bands that are spoken of, Hz: below and above, hardly anything is heard and much is accident (heuristic). */
const spoken = { fromHz: 31.5, toHz: 16_000 };
/** Being beyond any weighs this much more than being beyond most (heuristic). */
const anyWeight = 2;

interface FigureWords {
  /** What about weighs as much as 1 dB over an octave, and from where it is worth a word (heuristics). */
  readonly unit: number;
  readonly least: number;
  /** Only of whole songs: a section is no song. */
  readonly wholeOnly?: boolean;
  above(by: number, others: string): string;
  below(by: number, others: string): string;
}

const figureWords: Readonly<Record<SetFigureId, FigureWords>> = {
  integratedLufs: {
    unit: 1,
    least: 0.5,
    wholeOnly: true,
    above: (by, others) => `You are ${size(by, 'LU')} louder than ${others}.`,
    below: (by, others) => `You are ${size(by, 'LU')} quieter than ${others}.`,
  },
  tiltDbPerOctave: {
    unit: 0.3,
    least: 0.2,
    above: (by, others) =>
      `From bass to treble you lean brighter than ${others}, by ${size(by, 'dB')} an octave.`,
    below: (by, others) =>
      `From bass to treble you lean darker than ${others}, by ${size(by, 'dB')} an octave.`,
  },
  plrDb: {
    unit: 1,
    least: 0.5,
    above: (by, others) =>
      `Your peaks stand ${size(by, 'dB')} further above the body of the sound than in ${others}.`,
    below: (by, others) =>
      `Your peaks stand ${size(by, 'dB')} less above the body of the sound than in ${others}.`,
  },
  rangeLu: {
    unit: 1.5,
    least: 1,
    wholeOnly: true,
    above: (by, others) => `Your loud and quiet parts lie ${size(by, 'LU')} further apart than in ${others}.`,
    below: (by, others) =>
      `Your loud and quiet parts lie ${size(by, 'LU')} closer together than in ${others}.`,
  },
  sideToMidDb: {
    unit: 1.5,
    least: 1,
    above: (by, others) => `You are wider than ${others}: the sides are ${size(by, 'dB')} higher.`,
    below: (by, others) => `You are narrower than ${others}: the sides are ${size(by, 'dB')} lower.`,
  },
  lowDb: {
    unit: 2,
    least: 1,
    above: (by, others) => `Below 120 Hz you carry ${size(by, 'dB')} more of your power than ${others}.`,
    below: (by, others) => `Below 120 Hz you carry ${size(by, 'dB')} less of your power than ${others}.`,
  },
  truePeakDbtp: {
    unit: 0.7,
    least: 0.3,
    wholeOnly: true,
    above: (by, others) => `Your highest peak lies ${size(by, 'dB')} above that of ${others}.`,
    below: (by, others) => `Your highest peak lies ${size(by, 'dB')} below that of ${others}.`,
  },
};

interface Told {
  readonly weight: number;
  readonly sentence: string;
}

/** Where a part stands, in plain words, most telling first; at most five sentences, never none. */
export function standingSentences({ part, against, quiet }: PartStanding, references: number): string[] {
  if (references === 0) return [];
  const told = [
    ...bandSentences({ part, against, quiet }, references),
    ...figureSentences({ part, against, quiet }, references, setFigureIds),
  ];
  if (told.length === 0)
    return [
      quiet
        ? 'A quieter part; nothing in it stands out above your references.'
        : 'In tone, dynamics and width you lie where your references lie.',
    ];
  return told
    .sort((a, b) => b.weight - a.weight)
    .slice(0, quiet ? mostOfQuiet : mostSentences)
    .map(({ sentence }) => sentence);
}

/** What some of its figures say, where they lie beyond the references. */
export function figureSentences(
  { part, against, quiet }: PartStanding,
  references: number,
  ids: readonly SetFigureId[],
): Told[] {
  return ids.flatMap((id) => {
    const words = figureWords[id];
    if (words.wholeOnly && part.section !== null) return [];
    const place = placeIn(part.figures[id], against.figures[id]);
    if (!place?.than || place.beyond < words.least || (quiet && place.side === 'below')) return [];
    const others = othersOf(place, references);
    return [
      {
        weight: (weightOf(place) * place.beyond) / words.unit,
        sentence:
          place.side === 'above' ? words.above(place.beyond, others) : words.below(place.beyond, others),
      },
    ];
  });
}

/** What is said of a set with few members; null for others. */
export function fewReferencesSentence(references: number): string | null {
  if (references >= fewReferences) return null;
  const few = `${count(references, 'reference')} can hardly say what is usual; ${count(fewReferences, '', '').trim()} or more can.`;
  return sentenceCase(few);
}

/** The standing of a version in one sentence, with a caution when the set is small. */
export function standingHeadline({ whole, count: references }: SetStanding): string {
  if (references === 0) return 'None of the references in this set has been checked yet.';
  const [first] = standingSentences(whole, references);
  const few = fewReferencesSentence(references);
  return few === null ? first : `${first} ${few}`;
}

/** 'the whole song', 'section B, 1:02 to 1:40'. */
export function partLabel({ section, startSeconds, endSeconds }: PartStanding['part']): string {
  const time = (seconds: number) => clockTime(seconds).replace(/\.\d$/, '');
  return section === null
    ? 'the whole song'
    : `section ${section}, ${time(startSeconds)} to ${time(endSeconds)}`;
}

function weightOf({ than }: Place): number {
  return than === 'any' ? anyWeight : 1;
}

function othersOf({ than }: Place, references: number): string {
  if (references === 1) return 'your reference';
  return `${than === 'any' ? 'any' : 'most'} of your references`;
}

interface Run extends Pick<Place, 'side' | 'than'> {
  readonly first: number;
  last: number;
  sum: number;
}

/** Neighbouring bands beyond the references the same way, joined. */
function bandSentences({ part, against, quiet }: PartStanding, references: number): Told[] {
  const runs: Run[] = [];
  against.centresHz.forEach((hz, i) => {
    if (hz < spoken.fromHz || hz > spoken.toHz) return;
    const place = placeIn(part.levelsDb[i], against.bands[i]);
    if (!place?.than || place.beyond < bandDb || (quiet && place.side === 'below')) return;
    const open = runs.at(-1);
    if (open && open.last === i - 1 && open.side === place.side && open.than === place.than) {
      open.last = i;
      open.sum += place.beyond;
    } else runs.push({ side: place.side, than: place.than, first: i, last: i, sum: place.beyond });
  });
  // What lies at the edge of a stretch beyond any is its slope, and not worth a sentence of its own.
  const slope = (run: Run) =>
    run.than === 'most' &&
    runs.some(
      (other) =>
        other.than === 'any' &&
        other.side === run.side &&
        (other.last + 1 === run.first || run.last + 1 === other.first),
    );
  return runs
    .filter((run) => !slope(run))
    .map((run) => {
      const place: Place = { ...run, beyond: run.sum / (run.last - run.first + 1) };
      const [from, to] = [against.centresHz[run.first], against.centresHz[run.last]];
      return {
        // Thirds of an octave times decibels.
        weight: (weightOf(place) * run.sum) / 3,
        sentence: `${rangeText(from, to)} you are ${size(place.beyond, 'dB', 0)} ${run.side} ${othersOf(place, references)}.`,
      };
    });
}

function rangeText(fromHz: number, toHz: number): string {
  const text = (hz: number) => (hz >= 1000 ? `${hz / 1000} kHz` : `${hz} Hz`);
  if (fromHz === toHz) return `Around ${text(fromHz)}`;
  if (toHz < 1000) return `Between ${fromHz} and ${text(toHz)}`;
  if (fromHz >= 1000) return `Between ${fromHz / 1000} and ${text(toHz)}`;
  return `Between ${text(fromHz)} and ${text(toHz)}`;
}
