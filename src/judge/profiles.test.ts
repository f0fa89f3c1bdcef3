import { expect, test } from 'vitest';
import { profileFigures } from './profile-figures.ts';
import { profileIds, profileOf, profiles, usualProfileId } from './profiles.ts';
import { boundsOf } from './rule.ts';
import { allRules } from './rules/all-rules.ts';
import { sources } from './sources.ts';

test('ids are unique, kebab-case, and found again', () => {
  expect(new Set(profileIds).size).toBe(profiles.length);
  for (const id of profileIds) {
    expect(id).toMatch(/^[a-z0-9]+(-[a-z0-9]+)*$/);
    expect(profileOf(id).id).toBe(id);
  }
});

test('a mix is held against what mixes are asked for, everything else against streaming', () => {
  expect(usualProfileId('mix')).toBe('mix-for-finishing');
  expect(usualProfileId('master')).toBe('streaming');
  expect(usualProfileId('reference')).toBe('streaming');
});

test.each(profiles.map((profile) => [profile.id, profile] as const))(
  '%s: every rule it weighs otherwise exists, and every figure it shows has a source',
  (_id, profile) => {
    const ids = allRules.map((rule) => rule.id);
    for (const id of Object.keys(profile.weights)) expect(ids).toContain(id);
    const titles = Object.values(sources).map(({ title }) => title);
    const figures = profileFigures(profile);
    expect(figures.length).toBeGreaterThan(0);
    for (const { source } of figures) expect(titles.some((title) => source.startsWith(title))).toBe(true);
  },
);

test('a weight changes the severity of a bound and nothing else; leave takes the rule out', () => {
  const rule = { id: 'x', bounds: [{ severity: 'mend', limit: 3, source: 'full-scale' }] } as const;
  const profile = profileOf('streaming');
  expect(boundsOf(rule, { ...profile, weights: { x: 'look' } })).toEqual([
    { severity: 'look', limit: 3, source: 'full-scale' },
  ]);
  expect(boundsOf(rule, { ...profile, weights: { x: 'leave' } })).toEqual([]);
  expect(boundsOf(rule, profile)).toEqual(rule.bounds);
});
