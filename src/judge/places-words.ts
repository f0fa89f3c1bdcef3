import type { WideBandName } from '../measure/wide-bands.ts';
import { heardBands } from '../places/heard-bands.ts';
import { figureParts, type PlaceFigure, severity } from '../places/place-against.ts';
import type { PlaceEffect } from '../places/place-effect.ts';
import type { WalkSolution } from '../places/walk-solve.ts';
import { count, figure, list, sentenceCase, signed, size } from './wording.ts';

/** What each band is called in a sentence, as its subject. */
const subjects: Record<WideBandName, { readonly name: string; readonly many: boolean }> = {
  low: { name: 'the bass', many: false },
  lowMid: { name: 'the low middle', many: false },
  mid: { name: 'the middle', many: false },
  presence: { name: 'the presence', many: false },
  air: { name: 'the air', many: false },
};

/** What is said of one figure; `outside` is the figure's own, for its order. */
export interface PlaceSentence {
  readonly text: string;
  readonly outside: number;
}

export interface PlaceStory {
  /** One sentence. */
  readonly headline: string;
  /** Worst first; only what lies outside. */
  readonly sentences: readonly PlaceSentence[];
  readonly severity: number;
}

/** Sentences beyond this many repeat each other. */
const mostSentences = 5;

/**
 * A song in a place in words: first what differs most from the references there.
 *
 * @param placeName as it stands in a sentence after 'in': 'a small car at 110 km/h' or the place's own name
 */
export function placeStory(
  placeName: string,
  effect: PlaceEffect,
  figures: readonly PlaceFigure[],
): PlaceStory {
  const sentences = figures
    .filter(({ outside }) => Math.abs(outside) >= 1)
    .map((one) => ({ text: sentenceOf(one, effect), outside: one.outside }))
    .slice(0, mostSentences);
  const against = figures.some(({ references }) => references !== null);
  const where = `${placeName}, ${figure(effect.levelDba, 0)} dB(A)`;
  const calm = against ? 'fares as your references do' : 'comes through';
  return {
    headline:
      sentences.length === 0
        ? `${where}: the song ${calm}.`
        : `${where}: ${count(sentences.length, 'thing')} ${sentences.length === 1 ? 'stands' : 'stand'} out.`,
    sentences,
    severity: severity(figures),
  };
}

function sentenceOf(one: PlaceFigure, effect: PlaceEffect): string {
  const { kind, band } = figureParts(one.name);
  if (kind === 'heard' && band) return heardSentence(one, effect, band);
  if (kind === 'balance' && band)
    return `${sentenceCase(subjects[band].name)} (${rangeHz(band)}) ${shift(one.value)} than in the studio${among(one, (v) => signed(v, 'phon'))}.`;
  switch (one.name) {
    case 'loudness-loss':
      return `The place takes ${size(one.value, 'phon')} of the loudness${among(one, (v) => figure(v))}.`;
    case 'lost':
      return `${sentenceCase(share(one.value))} of the time nothing of the song is heard${among(one, percent)}.`;
    case 'mono-loss':
      return `Added to mono the song loses ${size(one.value, 'dB')}${among(one, (v) => figure(v))}.`;
    case 'harshness':
      return `Loud moments have ${size(one.value, 'phon')} more around 2 to 5.6 kHz than in the studio${among(one, (v) => signed(v, 'phon'))}.`;
    case 'pumping':
      return `The device keeps turning itself down and up, ${size(one.value, 'dB')} a second and up to ${size(effect.protection.deepestDb, 'dB')}${among(one, (v) => figure(v))}.`;
    default:
      return `Where the bass itself is not heard, its harmonics stand for it ${share(one.value)} of the time${among(one, percent)}.`;
  }
}

/** 'The bass is heard 31 % of the time; in your references 64 to 88 %. Mostly the noise covers it.' */
function heardSentence(one: PlaceFigure, effect: PlaceEffect, band: WideBandName): string {
  const own = effect.bands.find((candidate) => candidate.band === band);
  const noise = own?.underNoiseShare ?? 0;
  const quiet = own?.underThresholdShare ?? 0;
  const why =
    noise + quiet < 0.05
      ? ''
      : noise > quiet
        ? ' Mostly the noise there covers it.'
        : ' Mostly too little of it arrives to be heard at all.';
  return `${sentenceCase(subjects[band].name)} (${rangeHz(band)}) is heard ${share(one.value)} of the time it plays${among(one, percent)}.${why}`;
}

function among({ references }: PlaceFigure, text: (value: number) => string): string {
  if (!references) return '';
  const [low, high] = [text(references.low), text(references.high)];
  const whose = references.count === 1 ? 'in your reference' : 'in your references';
  return `; ${whose} ${low === high ? low : `${low.replace(/ \S+$/, '')} to ${high}`}`;
}

function shift(phon: number): string {
  return phon < 0
    ? `is ${size(phon, 'phon')} weaker in the balance`
    : `is ${size(phon, 'phon')} stronger in the balance`;
}

function percent(value: number): string {
  return `${figure(100 * value, 0)} %`;
}

function share(value: number): string {
  return percent(value);
}

function rangeHz(name: WideBandName): string {
  const { lowHz, highHz } = heardBands.find((band) => band.name === name)!;
  const text = (hertz: number) => (hertz < 1000 ? `${hertz}` : `${hertz / 1000}`);
  return highHz < 1000
    ? `${text(lowHz)} to ${text(highHz)} Hz`
    : `${lowHz < 1000 ? `${lowHz} Hz` : text(lowHz)} to ${text(highHz)} kHz`;
}

/** The areas of a walk as they are named in a sentence. */
export const walkAreas: Record<WideBandName, string> = {
  low: 'bass',
  lowMid: 'low middle',
  mid: 'middle',
  presence: 'presence',
  air: 'air',
};

/**
 * What a walk's correction answers, what it cannot, and where places contradict each other.
 *
 * @param nameOf a place's name by its id
 */
export function walkSentences(solution: WalkSolution, nameOf: (placeId: string) => string): string[] {
  if (solution.complaints === 0) return ['Nothing was found wrong that your references do not share.'];
  const first =
    solution.answered === solution.complaints
      ? `The correction answers ${solution.complaints === 1 ? 'the one complaint' : `all ${count(solution.complaints, 'complaint')}`}.`
      : `The correction answers ${count(solution.answered, 'complaint')} of ${count(solution.complaints, 'complaint').replace(/ complaints?$/, '')}.`;
  const conflicts = solution.conflicts.map(({ area, tooMuch, tooLittle, compromiseDb }) => {
    const names = (ids: readonly string[]) => list(ids.map(nameOf));
    const middle =
      Math.abs(compromiseDb) < 0.25
        ? 'The correction leaves it as it is.'
        : `The correction goes ${signed(compromiseDb, 'dB')}.`;
    return `Too much ${walkAreas[area]} in ${names(tooMuch)}, too little in ${names(tooLittle)}: no curve answers both. ${middle}`;
  });
  return [first, ...conflicts];
}
