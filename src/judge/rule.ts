import type { Span } from '../measure/measurement.ts';
import type { Facts } from './facts.ts';
import type { Severity } from './file-report.ts';
import type { Profile } from './profile.ts';
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
  read(facts: Facts, profile: Profile): number | null;
  readonly wrong: 'above' | 'below';
  /**
   * Worst first; the first one crossed decides. Where they depend on what the song is for, a function of the profile;
   * no bounds: the profile asks for nothing here, and the rule is silent.
   */
  readonly bounds: readonly Bound[] | ((profile: Profile) => readonly Bound[]);
  /** How far beyond a bound weighs as much as one such step of any other rule (heuristic, orders the list only). */
  readonly step: number;
  say(value: number, facts: Facts, severity: Severity, profile: Profile): Words;
  /** What is said when no bound is crossed; left out or null: nothing. */
  fine?(value: number, facts: Facts, profile: Profile): Omit<Words, 'advice'> | null;
  /** Where in the song. */
  spans?(facts: Facts): readonly Span[];
  /** True when another rule already asks to mend the cause: this one then only asks to look. */
  followsFrom?(facts: Facts): boolean;
}

/** The bounds of a rule under a profile, worst first. */
export function boundsOf({ id, bounds }: Pick<Rule, 'id' | 'bounds'>, profile: Profile): readonly Bound[] {
  const weight = profile.weights[id];
  if (weight === 'leave') return [];
  const asked = typeof bounds === 'function' ? bounds(profile) : bounds;
  return weight === undefined ? asked : asked.map((bound) => ({ ...bound, severity: weight }));
}
