import type { SeededRandom } from '../signal/seeded-random.ts';
import type { PairRound } from './pair-schedule.ts';
import type { PairVote } from './pair-votes.ts';

/** Voters who answer as the model says. */
export interface Voters {
  readonly strengths: readonly number[];
  readonly order: number;
  /** ln of nu */
  readonly tie: number;
  /** Standard deviation of each listener's own taste about the strengths. */
  readonly ownTaste: number;
}

/** Their answers to a schedule. */
export function simulateVotes(
  { strengths, order, tie, ownTaste }: Voters,
  schedule: readonly (readonly PairRound[])[],
  random: SeededRandom,
): PairVote[] {
  const nu = Math.exp(tie);
  return schedule.flatMap((rounds, listener) => {
    const own = strengths.map((strength) =>
      ownTaste > 0 ? strength + ownTaste * random.normal() : strength,
    );
    return rounds.map(({ first, second }): PairVote => {
      const up = Math.exp((own[first] - own[second] + order) / 2);
      const draw = random.unit() * (up + nu + 1 / up);
      return { listener, first, second, answer: draw < up ? 'first' : draw < up + nu ? 'tie' : 'second' };
    });
  });
}
