import { quantile } from '../measure/quantile.ts';
import type { SeededRandom } from '../signal/seeded-random.ts';
import { studentQuantile } from './distributions.ts';
import { grouped } from './grouped.ts';
import type { Interval } from './profile-interval.ts';
import type { Stimulus } from './rating-screens.ts';

/** One sound's rating on one screen. */
export interface Rating {
  readonly listener: number;
  /** Which of the listener's screens. */
  readonly screen: number;
  readonly stimulus: Stimulus;
  /** Place on the screen, from 0. */
  readonly place: number;
  /** 0..100 */
  readonly score: number;
}

export interface StimulusRating {
  readonly stimulus: Stimulus;
  /** Mean over listeners of each one's mean. */
  readonly mean: number;
  /** 95 %, by Student's t over listeners; open with one listener. */
  readonly interval: Interval;
  readonly median: number;
  /** First and third quartile of all single ratings. */
  readonly quartiles: readonly [number, number];
}

export interface RatingResult {
  readonly listeners: number;
  readonly stimuli: readonly StimulusRating[];
  /** For each place on the screen, how much higher than on the mean a sound is rated there, points. */
  readonly placeEffects: readonly number[];
  /** Chance of means so far apart if no listener could tell the entries apart (within each screen, scores shuffled). */
  readonly indifferenceP: number;
  /** The entry rated highest, if the ratings crown it; null otherwise. */
  readonly crowned: number | null;
}

const level = 0.05;

/**
 * Ratings summed up. An entry is crowned where the ratings as a whole are too uneven for indifference (a seeded permutation
 * test) and its lead over each other entry, listener by listener, passes Student's t at 5 %; that takes two listeners.
 */
export function ratingResult(
  ratings: readonly Rating[],
  random: SeededRandom,
  shuffles = 1999,
): RatingResult {
  const listeners = [...new Set(ratings.map(({ listener }) => listener))];
  const names = [...new Set(ratings.map(({ stimulus }) => stimulus))].sort(byName);
  const means = new Map(names.map((name) => [name, listeners.map((who) => meanOf(ratings, who, name))]));
  const entries = names.filter((name) => typeof name === 'number');
  const indifferenceP = entries.length > 1 ? shuffledP(ratings, random, shuffles) : 1;
  const stimuli = names.map((stimulus): StimulusRating => {
    const own = (means.get(stimulus) ?? []).filter((mean) => mean !== null);
    const scores = ratings
      .filter((each) => each.stimulus === stimulus)
      .map(({ score }) => score)
      .sort((a, b) => a - b);
    return {
      stimulus,
      mean: average(own),
      interval: studentInterval(own),
      median: quantile(scores, 0.5),
      quartiles: [quantile(scores, 0.25), quantile(scores, 0.75)],
    };
  });
  return {
    listeners: listeners.length,
    stimuli,
    placeEffects: placeEffects(ratings, stimuli),
    indifferenceP,
    crowned: indifferenceP <= level ? crownedAmong(entries, means) : null,
  };
}

function byName(a: Stimulus, b: Stimulus): number {
  if (typeof a === 'number' && typeof b === 'number') return a - b;
  return typeof a === 'number' ? -1 : typeof b === 'number' ? 1 : a < b ? 1 : -1;
}

function meanOf(ratings: readonly Rating[], who: number, stimulus: Stimulus): number | null {
  const own = ratings.filter((each) => each.listener === who && each.stimulus === stimulus);
  return own.length > 0 ? average(own.map(({ score }) => score)) : null;
}

function average(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function studentInterval(values: readonly number[]): Interval {
  if (values.length < 2) return { low: null, high: null };
  const reach = studentQuantile(1 - level / 2, values.length - 1) * errorOfMean(values);
  return { low: average(values) - reach, high: average(values) + reach };
}

function errorOfMean(values: readonly number[]): number {
  const mean = average(values);
  const square = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  return Math.sqrt(square / values.length);
}

function crownedAmong(
  entries: readonly number[],
  means: ReadonlyMap<Stimulus, readonly (number | null)[]>,
): number | null {
  const overall = (entry: number) => average((means.get(entry) ?? []).filter((mean) => mean !== null));
  const leader = entries.reduce((best, entry) => (overall(entry) > overall(best) ? entry : best));
  const ahead = entries.every((other) => {
    if (other === leader) return true;
    const leads = (means.get(leader) ?? []).flatMap((mean, i) => {
      const theirs = means.get(other)?.[i] ?? null;
      return mean === null || theirs === null ? [] : [mean - theirs];
    });
    const { low } = studentInterval(leads);
    return low !== null && low > 0;
  });
  return ahead ? leader : null;
}

/** What is left of each rating when its sound's and its screen's mean are taken off, averaged by place. */
function placeEffects(ratings: readonly Rating[], stimuli: readonly StimulusRating[]): number[] {
  const grand = average(ratings.map(({ score }) => score));
  const usual = new Map(stimuli.map(({ stimulus, mean }) => [stimulus, mean]));
  const screens = grouped(ratings, ({ listener, screen }) => `${listener} ${screen}`);
  const left: number[][] = [];
  for (const screen of screens.values()) {
    const lift = average(screen.map(({ score, stimulus }) => score - (usual.get(stimulus) ?? grand)));
    for (const { place, score, stimulus } of screen) {
      left[place] ??= [];
      left[place].push(score - (usual.get(stimulus) ?? grand) - lift);
    }
  }
  return Array.from(left, (values) => (values ? average(values) : 0));
}

function shuffledP(ratings: readonly Rating[], random: SeededRandom, shuffles: number): number {
  const own = ratings.filter(({ stimulus }) => typeof stimulus === 'number');
  const screens = [...grouped(own, ({ listener, screen }) => `${listener} ${screen}`).values()].map(
    (screen) => ({
      entries: screen.map(({ stimulus }) => stimulus as number),
      // Less the screen's mean: how high someone rates in general tells nothing.
      scores: Float64Array.from(screen, ({ score }) => score - average(screen.map((each) => each.score))),
    }),
  );
  const sums = new Float64Array(1 + Math.max(...own.map(({ stimulus }) => stimulus as number)));
  const statistic = () => {
    sums.fill(0);
    for (const { entries, scores } of screens)
      for (let i = 0; i < scores.length; i++) sums[entries[i]] += scores[i];
    return sums.reduce((total, sum) => total + sum * sum, 0);
  };
  const seen = statistic();
  let asFar = 1;
  for (let draw = 0; draw < shuffles; draw++) {
    for (const { scores } of screens) random.shuffle(scores);
    if (statistic() >= seen * (1 - 1e-9)) asFar++;
  }
  return asFar / (shuffles + 1);
}
