import { expect, test } from 'vitest';
import { builtInPlaces } from '../places/built-in-places.ts';
import { placeFigures } from '../places/place.ts';
import { placeSources } from './place-sources.ts';
import { sources } from './sources.ts';

test.each(builtInPlaces.map((place) => [place.id, place] as const))(
  '%s: every group of figures names a source of docs/sources.md and says what is assumed',
  (_id, place) => {
    const told = placeSources(place);
    expect(told.map(({ group }) => group)).toEqual([...placeFigures]);
    for (const { group, id, title, assumption, note } of told) {
      expect(Object.keys(sources), group).toContain(id);
      expect(title, group).not.toBe(id);
      expect(note.length, group).toBeGreaterThan(5);
      // No published figure holds a whole place: what lies beyond it has to be said.
      if (!assumption) expect(note, `${place.id} ${group}`).toMatch(/assum/);
    }
  },
);

test('what the user measured or set says so', () => {
  const [place] = builtInPlaces;
  const own = { ...place, sources: { ...place.sources, noise: { source: 'user', note: 'set by you' } } };
  expect(placeSources(own).find(({ group }) => group === 'noise')).toMatchObject({
    title: 'Set by you',
    assumption: false,
  });
});
