import type { PowerResult } from '../shootout/power.ts';
import type { PairResult, RatingSummary, Results } from '../shootout/shootout-shapes.ts';
import { count, figure, list, sentenceCase } from './wording.ts';

/** How a person calls an entry or a listener, by id: a maker's name after the reveal, a letter before. */
export type NameOf = (id: string) => string;

const percent = (share: number) => `${figure(100 * share, 0)} %`;
/** A chance; small ones as a bound. */
const chanceText = (p: number) => (p < 0.001 ? 'less than 0.1 %' : `${figure(100 * p, 1)} %`);
/** The share of deciding votes for a difference in strength, with its interval; an open end is 'all'. */
function votesFor({ difference, interval }: PairResult['pairs'][number]): string {
  const share = (d: number | null) => (d === null ? 1 : 1 / (1 + Math.exp(-d)));
  const text = (value: number) => (value > 0.995 ? 'nearly all' : percent(value));
  const [low, high] = [interval.low === null ? 0 : share(interval.low), share(interval.high)];
  const told = `${text(share(difference))} of the deciding votes`;
  return low > 0.995 ? told : `${told} (${text(low)} to ${text(high)})`;
}

/** The result in plain sentences, the verdict first; it crowns nobody whom the votes do not. */
export function shootoutSentences(results: Results, nameOf: NameOf, listenerName: NameOf): string[] {
  if (results.kind === 'abx') return results.listeners.flatMap((each) => abxSentence(each, listenerName));
  if (results.kind === 'rating') {
    if (!results.all) return ['Nobody has rated anything yet.'];
    const apart = results.listeners
      .filter(({ kept }) => !kept)
      .map(({ listenerId }) => listenerName(listenerId));
    return [...ratingSentences(results.all, nameOf), ...withoutSentences(apart, results.kept, nameOf)];
  }
  if (!results.all) return ['Nobody has voted yet.'];
  const apart = results.listeners.filter(({ setAside }) => setAside !== null);
  return [
    ...pairSentences(results.all, nameOf),
    ...consistencySentences(results.listeners),
    ...apart.map((each) => `${listenerSentence(each, listenerName)} That is no better than chance.`),
    ...withoutSentences(
      apart.map(({ listenerId }) => listenerName(listenerId)),
      results.kept,
      nameOf,
    ),
  ];
}

function pairSentences(result: PairResult, nameOf: NameOf): string[] {
  const said = [...pairVerdict(result, nameOf)];
  if (result.steadied)
    said.push(
      'Someone won or lost every vote, so there is no finite figure for the distance; half a vote was added on each side, and the figures lean towards equality.',
    );
  const { order, tieShare } = result;
  if (order.strength !== 0 && Math.abs(order.strength) > 1.96 * order.error)
    said.push(
      `The ${order.strength > 0 ? 'first' : 'second'} of two equals got ${percent(order.strength > 0 ? order.share : 1 - order.share)} of the deciding votes: the order matters here, and it is allowed for.`,
    );
  if (tieShare >= 0.4) said.push(`${percent(tieShare)} of the answers were ‘no difference’.`);
  return said;
}

function pairVerdict(result: PairResult, nameOf: NameOf): string[] {
  const { verdict, strengths, pairs, equality, votes, listenerIds } = result;
  const listeners = count(listenerIds.length, 'listener');
  const from = `${count(votes, 'vote')} of ${listeners}`;
  if (verdict.crowned === 'none' || verdict.leaderId === null) return noWinner(result, nameOf, from);
  const winner = nameOf(verdict.leaderId);
  const next = pairs.find(
    ({ entryId, otherId }) => entryId === verdict.leaderId && otherId === strengths[1].entryId,
  );
  const ahead = next ? ` Against ${nameOf(next.otherId)}, the next best, it gets ${votesFor(next)}.` : '';
  const said = [
    `${winner} wins, by ${from}.${ahead}`,
    `If nobody could tell them apart, votes as uneven as these would come up in ${chanceText(equality.indifferenceP)} of shoot-outs.`,
  ];
  if (verdict.crowned === 'these-listeners')
    said.push(
      listenerIds.length < 3
        ? `That holds for ${listenerIds.length === 1 ? 'this listener' : 'these listeners'}; of others it says nothing.`
        : 'That holds for these listeners. Counted by listeners instead of votes it is not certain: others may judge otherwise.',
    );
  else said.push('It holds for listeners like these in general, not only for their votes.');
  return said;
}

function noWinner({ verdict, strengths, equality }: PairResult, nameOf: NameOf, from: string): string[] {
  const chance = `If nobody could tell them apart, votes as uneven as these would come up in ${chanceText(equality.indifferenceP)} of shoot-outs.`;
  if (equality.indifferenceP > 0.05 || verdict.leaderId === null)
    return [`No winner: ${from} do not tell these masters apart.`, chance];
  const rivals = list(verdict.notBeatenIds.map(nameOf));
  const leader = strengths.find(({ entryId }) => entryId === verdict.leaderId);
  const best = leader ? ` The chance that it is the best is about ${percent(leader.chanceBest)}.` : '';
  return [
    `No winner: ${nameOf(verdict.leaderId)} is ahead, but not clearly of ${rivals || 'all others together'}.${best}`,
    `They are not all equal, though. ${chance}`,
  ];
}

type PreferenceResults = Extract<Results, { kind: 'preference' }>;
type AbxResults = Extract<Results, { kind: 'abx' }>;

type ListenerConsistency = PreferenceResults['listeners'][number];

/** How consistent all listeners were together. */
function consistencySentences(listeners: readonly ListenerConsistency[]): string[] {
  const sum = (pick: (each: ListenerConsistency) => number) =>
    listeners.reduce((total, each) => total + pick(each), 0);
  const asked = sum(({ repeats }) => repeats.asked);
  const triads = sum(({ triads }) => triads.decided);
  return [
    ...(asked > 0
      ? [
          `Of ${count(asked, 'repeated pair')} ${sum(({ repeats }) => repeats.same)} got the same answer and ${sum(({ repeats }) => repeats.turned)} the opposite one.`,
        ]
      : []),
    ...(triads > 0
      ? [
          `Of ${count(triads, 'set')} of three that a listener put in order, ${sum(({ triads }) => triads.circular)} went in a circle; by chance a quarter would.`,
        ]
      : []),
  ];
}

/** How consistent one listener was. */
export function listenerSentence(
  { listenerId, votes, triads, repeats }: ListenerConsistency,
  listenerName: NameOf,
): string {
  const parts = [
    ...(repeats.asked > 0
      ? [
          `gave the same answer to ${repeats.same} of ${repeats.asked} repeated pairs and the opposite one to ${repeats.turned}`,
        ]
      : []),
    ...(triads.decided > 0
      ? [`went in a circle in ${triads.circular} of ${triads.decided} sets of three`]
      : []),
  ];
  const done =
    parts.length > 0 ? list(parts) : `gave ${count(votes, 'answer')}, too few to tell how consistently`;
  return `${sentenceCase(listenerName(listenerId))} ${done}.`;
}

function withoutSentences(
  apart: readonly string[],
  kept: PairResult | RatingSummary | null,
  nameOf: NameOf,
): string[] {
  if (apart.length === 0) return [];
  if (kept === null) return [`Without ${list(apart)} nobody is left.`];
  const [verdict] = 'verdict' in kept ? pairVerdict(kept, nameOf) : ratingSentences(kept, nameOf);
  return [`Without ${list(apart)}: ${verdict}`];
}

function ratingSentences(
  { stimuli, crownedId, indifferenceP, listenerIds }: RatingSummary,
  nameOf: NameOf,
): string[] {
  const entries = stimuli.filter(
    ({ stimulus }) => !['reference', 'mid-anchor', 'low-anchor'].includes(stimulus),
  );
  const ranked = [...entries].sort((a, b) => b.mean - a.mean);
  const means = list(ranked.map(({ stimulus, mean }) => `${nameOf(stimulus)} ${figure(mean, 0)}`));
  const by = `by ${count(listenerIds.length, 'listener')}, of 100: ${means}`;
  const chance = `If nobody could tell them apart, ratings as uneven as these would come up in ${chanceText(indifferenceP)} of shoot-outs.`;
  return crownedId === null
    ? [`No winner. Mean ratings ${by}.`, chance]
    : [`${nameOf(crownedId)} is rated highest. Mean ratings ${by}.`, chance];
}

function abxSentence(
  { listenerId, trials, answered, result }: AbxResults['listeners'][number],
  listenerName: NameOf,
): string[] {
  const who = sentenceCase(listenerName(listenerId));
  if (result === null)
    return [
      `${who} has answered ${answered} of ${count(trials, 'trial')}; the result is told after the last.`,
    ];
  const { correct, p, needed, heard } = result;
  const got = `${who} was right in ${correct} of ${count(trials, 'trial')}`;
  if (needed === null) return [`${got}; so few trials can prove nothing.`];
  return [
    heard
      ? `${got}: the difference is heard (guessing gets that far in ${chanceText(p)} of tests).`
      : `${got}; ${needed} were needed: the difference is not shown to be heard, which does not prove that it cannot be.`,
  ];
}

/** What a shoot-out can tell apart, before it starts. */
export function powerSentence(
  { votes, difference, preferredShare, power }: PowerResult,
  listeners: number,
): string {
  const size = `With ${count(listeners, 'listener')} and ${count(votes, 'vote')} in all`;
  if (difference === null || preferredShare === null)
    return `${size} not even a great difference would be told apart reliably: more rounds or more listeners are needed.`;
  return `${size} you can tell apart differences of about ${figure(difference, 1)} in log-strength: a best master that gets ${percent(preferredShare)} of the deciding votes against each other one is found in ${percent(power)} of shoot-outs.`;
}

/** The power of an ABX test, before it starts. `power` for one who is right in the share `truly`. */
export function abxPowerSentence(
  trials: number,
  needed: number | null,
  truly: number,
  power: number,
): string {
  if (needed === null)
    return `${sentenceCase(count(trials, 'trial'))} can prove nothing: at least five are needed.`;
  return `${needed} of ${trials} right count as heard. Someone who hears it in so far as to be right in ${percent(truly)} of trials gets there in ${percent(power)} of tests.`;
}
