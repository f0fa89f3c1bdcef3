import { SeededRandom } from '../signal/seeded-random.ts';
import { abxResult } from './abx.ts';
import { type AskedVote, consistencyOf } from './consistency.ts';
import { grouped } from './grouped.ts';
import { pairResult } from './pair-result.ts';
import { type Rating, ratingResult } from './rating.ts';
import { postScreen } from './rating-screening.ts';
import type { Stimulus } from './rating-screens.ts';
import type { Listener, RatingSummary, Results, Shootout, Vote } from './shootout-shapes.ts';

type Answered = Pick<Listener, 'id' | 'rounds'>;

/**
 * What all votes taken in so far say, with and without the listeners who are set aside. Votes for rounds that do not exist,
 * of another kind, or second ones to a round are left out. The same votes give the same results.
 */
export function shootoutResults(
  {
    kind,
    seed,
    entries,
  }: Pick<Shootout, 'kind' | 'seed'> & { readonly entries: readonly { readonly id: string }[] },
  listeners: readonly Answered[],
  votes: readonly Vote[],
): Results {
  const ids = entries.map(({ id }) => id);
  const answers = firstAnswers(votes);
  if (kind === 'abx') return { kind, listeners: listeners.map((listener) => abxOf(listener, answers)) };
  if (kind === 'preference') {
    const asked = listeners.map((listener, l) => pairVotesOf(listener, l, ids, answers));
    const consistency = asked.flatMap((own) => (own.length > 0 ? [consistencyOf(own, ids.length)] : []));
    const apart = new Set(consistency.flatMap(({ setAside, listener }) => (setAside ? [listener] : [])));
    const all = asked.flat();
    const kept = all.filter(({ listener }) => !apart.has(listener));
    const summed = (some: readonly AskedVote[]) =>
      some.length > 0
        ? pairResult(
            some,
            ids,
            listeners.map(({ id }) => id),
            seed,
          )
        : null;
    return {
      kind,
      all: summed(all),
      kept: apart.size > 0 ? summed(kept) : null,
      listeners: consistency.map(({ listener, ...rest }) => ({
        listenerId: listeners[listener].id,
        ...rest,
      })),
    };
  }
  const ratings = listeners.flatMap((listener, l) => ratingsOf(listener, l, ids, answers));
  const screened = postScreen(ratings);
  const keptOnes = new Set(screened.flatMap(({ listener, kept }) => (kept ? [listener] : [])));
  const summed = (some: readonly Rating[]) =>
    some.length > 0 ? ratingSummary(some, ids, listeners, seed) : null;
  return {
    kind,
    all: summed(ratings),
    kept:
      keptOnes.size < screened.length
        ? summed(ratings.filter(({ listener }) => keptOnes.has(listener)))
        : null,
    listeners: screened.map(({ listener, ...rest }) => ({ listenerId: listeners[listener].id, ...rest })),
  };
}

type Answers = ReadonlyMap<string, Vote['answer']>;
const keyOf = (listenerId: string, roundId: string) => JSON.stringify([listenerId, roundId]);

function firstAnswers(votes: readonly Vote[]): Answers {
  const answers = new Map<string, Vote['answer']>();
  for (const { listenerId, roundId, answer } of votes) {
    const key = keyOf(listenerId, roundId);
    if (!answers.has(key)) answers.set(key, answer);
  }
  return answers;
}

function pairVotesOf(
  { id, rounds }: Answered,
  listener: number,
  ids: readonly string[],
  answers: Answers,
): AskedVote[] {
  const votes: AskedVote[] = [];
  const places = new Map<string, number>();
  for (const round of rounds) {
    const answer = answers.get(keyOf(id, round.id));
    if (round.kind !== 'preference' || (answer !== 'first' && answer !== 'tie' && answer !== 'second'))
      continue;
    places.set(round.id, votes.length);
    votes.push({
      listener,
      first: ids.indexOf(round.firstId),
      second: ids.indexOf(round.secondId),
      answer,
      repeats: round.repeatsId === null ? null : (places.get(round.repeatsId) ?? null),
    });
  }
  return votes;
}

function ratingsOf(
  { id, rounds }: Answered,
  listener: number,
  ids: readonly string[],
  answers: Answers,
): Rating[] {
  return rounds.flatMap((round, screen) => {
    const scores = answers.get(keyOf(id, round.id));
    if (round.kind !== 'rating' || !Array.isArray(scores) || scores.length !== round.order.length) return [];
    return round.order.map((name, place) => {
      const entry = ids.indexOf(name);
      return {
        listener,
        screen,
        place,
        score: scores[place],
        stimulus: entry >= 0 ? entry : (name as Stimulus),
      };
    });
  });
}

function ratingSummary(
  ratings: readonly Rating[],
  ids: readonly string[],
  listeners: readonly Answered[],
  seed: string,
): RatingSummary {
  const { stimuli, placeEffects, indifferenceP, crowned } = ratingResult(
    ratings,
    new SeededRandom(`ratings ${seed}`),
  );
  return {
    listenerIds: [...grouped(ratings, ({ listener }) => listener).keys()].map((l) => listeners[l].id),
    stimuli: stimuli.map(({ stimulus, quartiles, ...rest }) => ({
      ...rest,
      stimulus: typeof stimulus === 'number' ? ids[stimulus] : stimulus,
      quartiles: [quartiles[0], quartiles[1]],
    })),
    placeEffects: [...placeEffects],
    indifferenceP,
    crownedId: crowned === null ? null : ids[crowned],
  };
}

function abxOf({ id, rounds }: Answered, answers: Answers) {
  const given = rounds.flatMap((round) => {
    const answer = answers.get(keyOf(id, round.id));
    return round.kind === 'abx' && (answer === 'a' || answer === 'b') ? [answer === round.x] : [];
  });
  const trials = rounds.filter(({ kind }) => kind === 'abx').length;
  const answered = given.length;
  if (trials === 0 || answered < trials) return { listenerId: id, trials, answered, result: null };
  const { trials: _, ...result } = abxResult(given.filter(Boolean).length, trials);
  return { listenerId: id, trials, answered, result };
}
