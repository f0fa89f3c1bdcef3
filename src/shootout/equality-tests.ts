import type { SeededRandom } from '../signal/seeded-random.ts';
import { gainOf, type PairVote, votesByListener } from './pair-votes.ts';
import { factorise, solveFactored } from './small-matrix.ts';

const defaultShuffles = 1999;

/**
 * Chance, if nobody could tell any entry from another, of points lying as far apart as they do: each listener's answers are
 * shuffled among that listener's rounds, which leaves order bias and readiness to say 'no difference' as they are. Exact at
 * any number of votes (a Monte-Carlo permutation test; Dwass 1957, from memory). The statistic is the score of the
 * model: points less what is expected, weighed by their covariance.
 */
export function indifferenceTest(
  votes: readonly PairVote[],
  entries: number,
  random: SeededRandom,
  shuffles = defaultShuffles,
): number {
  const listeners = votesByListener(votes).map((own) => {
    const gains = Float64Array.from(own, ({ answer }) => gainOf[answer]);
    const mean = gains.reduce((sum, gain) => sum + gain, 0) / gains.length;
    return {
      gains: gains.map((gain) => gain - mean),
      firsts: Uint8Array.from(own, ({ first }) => first),
      seconds: Uint8Array.from(own, ({ second }) => second),
    };
  });
  const weigh = scoreWeight(votes, entries);
  const points = new Float64Array(entries);
  const statistic = () => {
    points.fill(0);
    for (const { gains, firsts, seconds } of listeners)
      for (let i = 0; i < gains.length; i++) {
        points[firsts[i]] += gains[i];
        points[seconds[i]] -= gains[i];
      }
    return weigh(points);
  };
  const seen = statistic();
  return shareAsFar(seen, shuffles, () => {
    for (const { gains } of listeners) random.shuffle(gains);
    return statistic();
  });
}

/**
 * Chance, if listeners have tastes but no entry is liked better by listeners in general, of their points adding up as
 * they do: each listener's points are dealt out anew among the entries. Exact where each listener heard every entry alike.
 * With two entries and five listeners it can never be below 1/16: five people are few.
 */
export function commonTasteTest(
  votes: readonly PairVote[],
  entries: number,
  random: SeededRandom,
  shuffles = defaultShuffles,
): number {
  const listeners = votesByListener(votes).map((own) => {
    const points = new Float64Array(entries);
    for (const { first, second, answer } of own) {
      points[first] += gainOf[answer];
      points[second] -= gainOf[answer];
    }
    return points;
  });
  const sum = new Float64Array(entries);
  const statistic = () => {
    sum.fill(0);
    for (const points of listeners) for (let i = 0; i < entries; i++) sum[i] += points[i];
    return sum.reduce((total, value) => total + value * value, 0);
  };
  const seen = statistic();
  return shareAsFar(seen, shuffles, () => {
    for (const points of listeners) random.shuffle(points);
    return statistic();
  });
}

/** The share of all draws, the seen one among them, that come out as high. */
function shareAsFar(seen: number, shuffles: number, draw: () => number): number {
  let asFar = 1;
  const almost = seen * (1 - 1e-9) - 1e-12;
  for (let i = 0; i < shuffles; i++) if (draw() >= almost) asFar++;
  return asFar / (shuffles + 1);
}

/** Quadratic form of points in the inverse of their covariance when all are equal, up to a factor: the score statistic. */
function scoreWeight(votes: readonly PairVote[], entries: number): (points: Float64Array) => number {
  const met = new Float64Array(entries * entries);
  const lead = new Float64Array(entries);
  for (const { first, second } of votes) {
    met[first * entries + first]++;
    met[second * entries + second]++;
    met[first * entries + second]--;
    met[second * entries + first]--;
    lead[first]++;
    lead[second]--;
  }
  const free = entries - 1;
  const factor = new Float64Array(free * free);
  for (let i = 0; i < free; i++)
    for (let j = 0; j < free; j++)
      factor[i * free + j] = met[i * entries + j] - (lead[i] * lead[j]) / votes.length + (i === j ? 1e-6 : 0);
  if (!factorise(factor, free)) return (points) => points.reduce((sum, value) => sum + value * value, 0);
  const solved = new Float64Array(free);
  return (points) => {
    solved.set(points.subarray(0, free));
    solveFactored(factor, free, solved);
    let sum = 0;
    for (let i = 0; i < free; i++) sum += solved[i] * points[i];
    return sum;
  };
}
