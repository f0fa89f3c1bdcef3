import { expect, test } from 'vitest';
import { builtInPlaces } from '../../src/places/built-in-places.ts';
import { draftOf, draftPoint, numberOf, placeOf } from './place-draft.ts';

test.each(builtInPlaces.map((place) => [place.id, place] as const))(
  '%s as typed is the place, its curves to a hundredth of a dB',
  (_, place) => {
    const result = placeOf(draftOf(place));
    if (!('place' in result)) throw new Error(JSON.stringify(result.errors));
    const { id: _id, sources: _sources, response, noise, ...rest } = place;
    expect(result.place).toMatchObject(rest);
    for (const [typed, curve] of [
      [result.place.response, response],
      [result.place.noise?.shape ?? [], noise?.shape ?? []],
    ] as const) {
      expect(typed).toHaveLength(curve.length);
      typed.forEach(({ db }, i) => {
        expect(db).toBeCloseTo(curve[i]?.db ?? Number.NaN, 2);
      });
    }
  },
);

test('what cannot be saved is said beside the figure it is about', () => {
  const [place] = builtInPlaces;
  const draft = draftOf(place!);
  const texts = {
    ...draft.texts,
    name: ' ',
    maximumDb: 'loud',
    'levels.loudDba': '121',
    'protection.belowHz': '10',
  };
  const response = [draftPoint('100', '0'), draftPoint('100', ''), draftPoint('9', '70')];
  expect(placeOf({ ...draft, texts, response })).toEqual({
    errors: {
      name: 'It needs a name.',
      maximumDb: 'A number is needed.',
      'levels.loudDba': 'At most 120.',
      'protection.belowHz': 'At least 20.',
      'response.1.db': 'A number is needed.',
      'response.2.hertz': 'At least 10.',
      'response.2.db': 'At most 60.',
    },
  });
  const twice = [draftPoint('100', '0'), draftPoint('100', '3')];
  expect(placeOf({ ...draft, response: twice })).toEqual({
    errors: { response: 'The frequencies of a curve must rise.' },
  });
});

test('figures are read as people write them', () => {
  expect(['−3,5', ' 12.25 ', '-0.5'].map(numberOf)).toEqual([-3.5, 12.25, -0.5]);
  expect(['', 'x', '1 2'].map(numberOf)).toEqual([NaN, NaN, NaN]);
});
