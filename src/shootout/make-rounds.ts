import type { Span } from '../measure/span.ts';
import { abxSchedule } from './abx-schedule.ts';
import { lettersFor } from './letters.ts';
import { longestSessionSeconds, roundSeconds } from './listening-time.ts';
import { pairSchedule } from './pair-schedule.ts';
import { ratingScreens } from './rating-screens.ts';
import type { Listener, Round, Shootout } from './shootout-shapes.ts';

export interface RoundsOptions {
  /** Most listeners that there may be; each has rounds waiting, taken in the order in which they come. */
  readonly listeners: number;
  /** Preference: most rounds a listener. ABX: trials, fixed beforehand; default 16. */
  readonly rounds?: number;
}

const usualTrials = 16;

/** Rounds and letters for each listener of a shoot-out. The same shoot-out makes the same rounds. */
export function makeRounds(
  {
    kind,
    question,
    seed,
    sections,
    entries,
  }: Pick<Shootout, 'kind' | 'question' | 'seed'> & {
    readonly sections: readonly Span[];
    readonly entries: readonly { readonly id: string }[];
  },
  { listeners, rounds }: RoundsOptions,
): Pick<Listener, 'letters' | 'rounds'>[] {
  const excerptSeconds = Math.max(
    ...sections.map(({ startSeconds, endSeconds }) => endSeconds - startSeconds),
  );
  const letters = lettersFor(entries.length, listeners, seed);
  const base = { entries: entries.length, listeners, sections: sections.length, excerptSeconds, seed };
  const idOf = (i: number) => entries[i].id;
  const made: Round[][] =
    kind === 'preference'
      ? pairSchedule({ ...base, rounds }).map((own, listener) =>
          own.map(({ first, second, section, repeats }, i) => ({
            kind,
            id: `${listener}-${i}`,
            section,
            firstId: idOf(first),
            secondId: idOf(second),
            repeatsId: repeats === null ? null : `${listener}-${repeats}`,
          })),
        )
      : kind === 'rating'
        ? ratingScreens({ ...base, question }).map((own, listener) =>
            own.map(({ section, order }, i) => ({
              kind,
              id: `${listener}-${i}`,
              section,
              order: order.map((stimulus) => (typeof stimulus === 'number' ? idOf(stimulus) : stimulus)),
            })),
          )
        : Array.from({ length: listeners }, (_, listener) =>
            abxSchedule(rounds ?? usualTrials, sections.length, `${seed} ${listener}`).map(
              ({ section, x }, i) => ({
                kind,
                id: `${listener}-${i}`,
                section,
                aId: idOf(0),
                bId: idOf(1),
                x,
              }),
            ),
          );
  return made.map((own, listener) => ({ letters: letters[listener], rounds: own }));
}

/** About how long rounds take, s; a session of more than 20 minutes is too long (`tooLong`). */
export function sessionLength(
  rounds: readonly Round[],
  sections: readonly { readonly startSeconds: number; readonly endSeconds: number }[],
): { seconds: number; tooLong: boolean } {
  const seconds = rounds.reduce((sum, round) => {
    const { startSeconds, endSeconds } = sections[round.section];
    const sounds = round.kind === 'rating' ? round.order.length : round.kind === 'abx' ? 3 : 2;
    return sum + roundSeconds(sounds, endSeconds - startSeconds);
  }, 0);
  return { seconds, tooLong: seconds > longestSessionSeconds };
}
