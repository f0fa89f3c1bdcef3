import type { VoterAnswer, VoterRound } from '../../src/shootout/voter-shapes.ts';
import type { Sounds } from './sounds.ts';

/** One question on the page. */
export interface RoundView {
  readonly question: string;
  readonly element: HTMLElement;
  /** What keys do, for those who have some. */
  readonly keys: readonly (readonly [key: string, does: string])[];
  /** True when the key was for this round. Enter is not given to it. */
  key(key: string): boolean;
  /** Enter was pressed while nothing could be sent: take what is heard as the answer, where that makes sense. */
  take(): void;
  /** null until there is one that can be sent. */
  answer(): VoterAnswer['answer'] | null;
  /** What is missing, or what would be sent. */
  words(): string;
  close(): void;
}

/** @param changed the answer, or the words about it, may have changed */
export type OpenRound<R extends VoterRound> = (
  round: R,
  sounds: Sounds,
  changed: () => void,
  question: 'taste' | 'damage',
) => RoundView;

/** Handles of the sounds of a round, in the order of its buttons. */
export function handlesOf(round: VoterRound): string[] {
  if (round.kind === 'preference') return [...round.sounds];
  if (round.kind === 'abx') return [round.a, round.b, round.x];
  return [...(round.reference ? [round.reference] : []), ...round.sounds.map(({ sound }) => sound)];
}
