import { expect, test } from 'vitest';
import { builtInPlaces } from '../places/built-in-places.ts';
import { placeFigures } from '../places/place.ts';
import type { PlaceFigure } from '../places/place-against.ts';
import type { PlaceEffect } from '../places/place-effect.ts';
import { solveWalk } from '../places/walk-solve.ts';
import { placeStory, walkSentences } from './places-words.ts';
import { sources } from './sources.ts';

const effect: PlaceEffect = {
  placeId: 'car-110',
  levelDba: 65,
  noiseDba: 69,
  bands: [
    {
      band: 'low',
      lowHz: 20,
      highHz: 90,
      activeShare: 0.9,
      heardShare: 0.31,
      underNoiseShare: 0.69,
      underThresholdShare: 0,
      balanceShiftPhon: -9,
      sone: 1,
      timeline: [],
    },
  ],
  timelineSeconds: 1,
  meanSone: 5,
  n5Sone: 9,
  loudnessLossPhon: 8,
  lostShare: 0,
  bassCarriedShare: 0.4,
  harmonicsFollow: null,
  monoLossDb: null,
  harshnessPhon: 1,
  protection: { activeShare: 0, deepestDb: 0, movementDbPerSecond: 0 },
  levelsDb: [],
};

test('the bass under the noise, told against the references', () => {
  const figures: PlaceFigure[] = [
    { name: 'heard-low', value: 0.31, references: { low: 0.64, high: 0.88, count: 3 }, outside: -2.2 },
    { name: 'balance-air', value: 4.2, references: { low: -1, high: 1, count: 3 }, outside: 1.1 },
    { name: 'lost', value: 0.01, references: null, outside: 0 },
  ];
  const story = placeStory('Small car at 110 km/h', effect, figures);
  expect(story.headline).toBe('Small car at 110 km/h, 65 dB(A): two things stand out.');
  expect(story.sentences.map(({ text }) => text)).toEqual([
    'The bass (20 to 90 Hz) is heard 31 % of the time it plays; in your references 64 to 88 %. Mostly the noise there covers it.',
    'The air (5.6 to 14 kHz) is 4.2 phon stronger in the balance than in the studio; in your references −1.0 to +1.0 phon.',
  ]);
  expect(placeStory('Laptop', effect, [{ ...figures[2] }]).headline).toBe(
    'Laptop, 65 dB(A): the song comes through.',
  );
});

test('a walk with a conflict says who wants what', () => {
  const right = { low: 0, lowMid: 0, mid: 0, presence: 0, air: 0 };
  const stop = (placeId: string, low: number) => ({
    placeId,
    name: placeId,
    trust: 1,
    song: { taps: { ...right, low } },
    references: [],
    heard: null,
  });
  expect(walkSentences(solveWalk([stop('car', 1), stop('theatre', -1)]), (id) => `the ${id}`)).toEqual([
    'The correction answers no complaints of two.',
    'Too much bass in the car, too little in the theatre: no curve answers both. The correction leaves it as it is.',
  ]);
  expect(walkSentences(solveWalk([stop('car', 1), stop('radio', 1)]), (id) => id)[0]).toBe(
    'The correction answers all two complaints.',
  );
});

test.each(builtInPlaces.map((place) => [place.id, place] as const))(
  '%s: every figure has a source that the page of sources knows',
  (_, place) => {
    for (const name of placeFigures) expect(Object.keys(sources)).toContain(place.sources[name].source);
  },
);
