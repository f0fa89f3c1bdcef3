import { pairSchedule } from '../../shootout/pair-schedule.ts';
import { type PowerResult, powerOf } from '../../shootout/power.ts';
import { shootoutResults } from '../../shootout/results.ts';
import type { Listener, Results, Shootout, Vote } from '../../shootout/shootout-shapes.ts';
import type { Task } from './task.ts';

export interface PowerTaskOptions {
  readonly entries: number;
  readonly listeners: number;
  readonly sections: number;
  /** Of one listener. */
  readonly rounds: number;
}

/** What a shoot-out of pairs can tell apart. It depends on no file, and hardly on how the orders are drawn. */
export const powerTask: Task<PowerTaskOptions, PowerResult> = {
  name: 'shootout-power',
  version: 1,
  timeLimitSeconds: 5 * 60,
  run: async ({ options: { entries, ...size } }) =>
    // How long the excerpts are has been seen to when the rounds were counted.
    powerOf(pairSchedule({ ...size, entries, excerptSeconds: 1, seed: 'power' }), entries),
};

export interface ResultsTaskOptions {
  readonly shootout: Pick<Shootout, 'kind' | 'seed'> & {
    readonly entries: readonly { readonly id: string }[];
  };
  readonly listeners: readonly Pick<Listener, 'id' | 'rounds'>[];
  readonly votes: readonly Vote[];
}

/** What the votes say so far, resampling and all. */
export const shootoutResultsTask: Task<ResultsTaskOptions, Results> = {
  name: 'shootout-results',
  version: 1,
  timeLimitSeconds: 5 * 60,
  run: async ({ options: { shootout, listeners, votes } }) => shootoutResults(shootout, listeners, votes),
};
