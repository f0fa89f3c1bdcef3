import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { profiles } from './profiles.ts';
import { boundsOf } from './rule.ts';
import { allRules } from './rules/all-rules.ts';
import type { Source } from './source.ts';
import { sources } from './sources.ts';

const page = readFileSync(new URL('../../docs/sources.md', import.meta.url), 'utf8');
const sections = new Map(
  page
    .split(/^## /m)
    .slice(1)
    .map((text) => [text.split('\n')[0].trim(), text.replace(/\s+/g, ' ')]),
);

test('docs/sources.md has a heading for each source id, and none besides', () => {
  expect([...sections.keys()]).toEqual(Object.keys(sources));
});

test.each(Object.entries<Source>(sources))('%s: the page says the same title and mark', (id, source) => {
  expect(sections.get(id)).toContain(`${source.title.replace(/’/g, "'")}. **${source.mark}**`);
});

const rests = new Map(
  allRules.flatMap((rule) =>
    profiles.flatMap((profile) =>
      boundsOf(rule, profile).map(({ source }) => [`${rule.id} ${source}`, [rule.id, source] as const]),
    ),
  ),
);

test.each([...rests.values()])(
  'rule %s rests on %s, which exists, and the page names the rule',
  (id, source) => {
    expect(Object.keys(sources)).toContain(source);
    expect(page).toContain(`\`${id}\``);
  },
);

test('rule ids are unique and kebab-case', () => {
  const ids = allRules.map((rule) => rule.id);
  expect(new Set(ids).size).toBe(ids.length);
  for (const id of ids) expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
});

test('the worst bound of a rule comes first', () => {
  for (const rule of allRules)
    for (const profile of profiles) {
      const reach = boundsOf(rule, profile).map((b) =>
        rule.wrong === 'above' ? b.limit + (b.slack ?? 0) : -b.limit + (b.slack ?? 0),
      );
      expect(reach, `${rule.id} for ${profile.id}`).toEqual([...reach].sort((a, b) => b - a));
    }
});
