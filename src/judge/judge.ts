import type { Facts } from './facts.ts';
import type { Finding, Severity } from './file-report.ts';
import { headlineOf } from './headline.ts';
import type { Profile } from './profile.ts';
import { profileOf, usualProfileId } from './profiles.ts';
import { type Bound, boundsOf, type Rule } from './rule.ts';
import { allRules } from './rules/all-rules.ts';

const mostSpans = 50;
const rank: Record<Severity, number> = { mend: 0, look: 1, fine: 2 };

/** How far `value` lies beyond the bound, in the rule's unit; positive is wrong. */
function excess(rule: Rule, bound: Bound, value: number): number {
  const beyond = rule.wrong === 'above' ? value - bound.limit : bound.limit - value;
  return beyond - (bound.slack ?? 0);
}

interface Weighed {
  readonly finding: Finding;
  readonly weight: number;
}

function apply(rule: Rule, facts: Facts, profile: Profile): Weighed | null {
  const bounds = boundsOf(rule, profile);
  if (bounds.length === 0) return null;
  const value = rule.read(facts, profile);
  if (value === null || !Number.isFinite(value)) return null;
  const shown = rule.unit === '' ? null : value;
  const crossed = bounds.find((bound) => excess(rule, bound, value) > 0);
  const bound = crossed ?? bounds[bounds.length - 1];
  const common = {
    id: rule.id,
    value: shown,
    unit: rule.unit,
    limit: rule.unit === '' ? null : bound.limit,
    source: bound.source,
  };
  if (crossed === undefined) {
    const words = rule.fine?.(value, facts, profile);
    if (!words) return null;
    return { finding: { ...common, severity: 'fine', ...words, advice: '', spans: [] }, weight: 0 };
  }
  const severity = crossed.severity === 'mend' && rule.followsFrom?.(facts) ? 'look' : crossed.severity;
  const spans = (rule.spans?.(facts) ?? [])
    .slice(0, mostSpans)
    .map(({ startSeconds, endSeconds }) => ({ startSeconds, endSeconds }));
  return {
    finding: { ...common, severity, ...rule.say(value, facts, severity, profile), spans },
    weight: excess(rule, crossed, value) / rule.step,
  };
}

/**
 * Holds the facts of one file against every rule, with the limits of a profile. Findings come in order of weight:
 * mend before look before fine, and within each the one farthest beyond its limit first. The headline says the
 * same in one sentence. Pure and quick: another profile needs no new measurement.
 */
export function judge(
  facts: Facts,
  profile: Profile = profileOf(usualProfileId(facts.kind)),
): { headline: string; findings: Finding[] } {
  const findings = allRules
    .map((rule) => apply(rule, facts, profile))
    .filter((weighed) => weighed !== null)
    .sort((a, b) => rank[a.finding.severity] - rank[b.finding.severity] || b.weight - a.weight)
    .map((weighed) => weighed.finding);
  return { headline: headlineOf(findings, profile.ready), findings };
}
