import type { Span } from '../measure/measurement.ts';
import type { Facts } from './facts.ts';
import type { Severity } from './file-report.ts';
import type { SourceId } from './sources.ts';

/** What a finding says: sentences for a person, figures in them. */
export interface Words {
  readonly title: string;
  readonly detail: string;
  readonly advice: string;
}

/** One limit of a rule. */
export interface Bound {
  readonly severity: Exclude<Severity, 'fine'>;
  readonly limit: number;
  readonly source: SourceId;
  /** How far beyond the limit still counts as meeting it, in the rule's unit: what a reading may be off. Default 0. */
  readonly slack?: number;
}

/** A rule is data: one figure, its bounds, and the words for it. src/judge/judge.ts runs them all alike. */
export interface Rule {
  /** Stable, kebab-case. */
  readonly id: string;
  /** Unit of the figure; empty for a plain yes or no, which then shows no figure. */
  readonly unit: string;
  /** The figure; null when there is nothing to judge, and then the rule is silent. */
  read(facts: Facts): number | null;
  readonly wrong: 'above' | 'below';
  /** Worst first; the first one crossed decides. */
  readonly bounds: readonly [Bound, ...Bound[]];
  /** How far beyond a bound weighs as much as one such step of any other rule (heuristic, orders the list only). */
  readonly step: number;
  say(value: number, facts: Facts, severity: Severity): Words;
  /** What is said when no bound is crossed; left out or null: nothing. */
  fine?(value: number, facts: Facts): Omit<Words, 'advice'> | null;
  /** Where in the song. */
  spans?(facts: Facts): readonly Span[];
  /** True when another rule already asks to mend the cause: this one then only asks to look. */
  followsFrom?(facts: Facts): boolean;
}
