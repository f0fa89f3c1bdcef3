import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type WideBandName, wideBandNames } from '../../src/measure/wide-bands.ts';
import { bandCentresHz } from '../../src/places/place-curve.ts';
import { areaWeights, solveWalk, type WalkStop } from '../../src/places/walk-solve.ts';

const right = { low: 0, lowMid: 0, mid: 0, presence: 0, air: 0 };
const stop = (
  placeId: string,
  taps: WalkStop['song']['taps'],
  references: WalkStop['song']['taps'] = right,
  trust = 1,
): WalkStop => ({
  placeId,
  name: placeId,
  trust,
  song: { taps },
  references: [{ taps: references }],
  heard: null,
});
const inArea = (curve: ArrayLike<number>, area: WideBandName) =>
  areaWeights[wideBandNames.indexOf(area)].reduce((sum, share, i) => sum + share * curve[i], 0);

const taps = fc.record(
  Object.fromEntries(wideBandNames.map((name) => [name, fc.constantFrom(-1, -0.5, 0, 0.5, 1)])) as Record<
    WideBandName,
    fc.Arbitrary<number>
  >,
);

describe('the walk', () => {
  test('nothing wrong, nothing changed', () => {
    const { curveDb, complaints, conflicts } = solveWalk([stop('car', right), stop('kitchen', right)]);
    expect(Math.max(...curveDb.map(Math.abs))).toBeLessThan(1e-9);
    expect(complaints).toBe(0);
    expect(conflicts).toEqual([]);
  });

  test('planted errors are recovered: every place hears what the song has too much of, to 1 dB', () => {
    fc.assert(
      fc.property(taps, fc.integer({ min: 2, max: 6 }), (planted, places) => {
        const { curveDb, answered, complaints } = solveWalk(
          Array.from({ length: places }, (_, i) => stop(`place-${i}`, planted)),
        );
        for (const name of wideBandNames)
          expect(Math.abs(inArea(curveDb, name) + 3 * planted[name])).toBeLessThan(1);
        expect(answered).toBe(complaints);
      }),
      { numRuns: 60, seed: 2 },
    );
  });

  test('what the references are tapped for too is the place’s, not the song’s', () => {
    const boomy = { ...right, low: 1 };
    const { curveDb, complaints } = solveWalk([stop('car', boomy, boomy), stop('kitchen', right)]);
    expect(Math.max(...curveDb.map(Math.abs))).toBeLessThan(1e-9);
    expect(complaints).toBe(0);
  });

  test('conflicts are named, and the compromise lies between the wishes', () => {
    const { conflicts, curveDb } = solveWalk([
      stop('car', { ...right, low: 1 }),
      stop('home-theatre', { ...right, low: -1 }),
      stop('kitchen', { ...right, air: -1 }),
    ]);
    expect(conflicts).toHaveLength(1);
    expect(conflicts[0]).toMatchObject({ area: 'low', tooMuch: ['car'], tooLittle: ['home-theatre'] });
    expect(Math.abs(conflicts[0].compromiseDb)).toBeLessThan(1);
    expect(inArea(curveDb, 'air')).toBeGreaterThan(0.5);
  });

  test('monotone in weights: the more a place is trusted, the nearer the curve comes to each lone wish of it', () => {
    fc.assert(
      fc.property(
        fc.array(taps, { minLength: 2, maxLength: 5 }),
        fc.constantFrom(...wideBandNames),
        fc.double({ min: 0.05, max: 0.9, noNaN: true }),
        (others, area, trust) => {
          const rest = others.slice(1).map((one, i) => stop(`other-${i}`, one));
          const left = (weight: number) => {
            const { predictions } = solveWalk([
              stop('here', { [area]: others[0][area] }, right, weight),
              ...rest,
            ]);
            const own = predictions.find(({ placeId }) => placeId === 'here')!;
            return Math.abs(own.wantedDb - own.heardDb);
          };
          expect(left(Math.min(1, trust + 0.1))).toBeLessThanOrEqual(left(trust) + 1e-9);
        },
      ),
      { numRuns: 60, seed: 3 },
    );
  });

  test('where references sound wrong themselves, or are missing, a complaint weighs less', () => {
    const wanted = { ...right, low: 1 };
    const against = stop('home', { ...right, low: -1 });
    const compromise = (here: WalkStop) => inArea(solveWalk([here, against]).curveDb, 'low');
    const sure = compromise(stop('car', wanted));
    expect(Math.abs(sure)).toBeLessThan(0.01);
    // Half a tap of the references is half the complaint, and it weighs less than a whole one.
    expect(compromise(stop('car', wanted, { ...right, low: 0.5 }))).toBeGreaterThan(0.75);
    expect(compromise({ ...stop('car', wanted), references: [] })).toBeGreaterThan(0.5);
    const disagreeing = [{ taps: { ...right, low: 1 } }, { taps: { ...right, low: -1 } }];
    expect(compromise({ ...stop('car', wanted), references: disagreeing })).toBeGreaterThan(0.2);
  });

  test('a phone is no judge of the bass that it cannot play', () => {
    const heard = bandCentresHz.map((hertz) => (hertz > 400 ? 1 : 0));
    const { predictions, curveDb } = solveWalk([{ ...stop('phone', { ...right, low: -1 }), heard }]);
    expect(predictions.some(({ area }) => area === 'low')).toBe(false);
    expect(Math.abs(inArea(curveDb, 'low'))).toBeLessThan(0.1);
  });

  test('what is asked for at the edge of what is heard does not run on beyond it', () => {
    // Of the air only 6 to 8 kHz is heard there.
    const heard = bandCentresHz.map((hertz) => (hertz < 8500 ? 1 : 0));
    const { curveDb } = solveWalk([{ ...stop('home-theatre', { ...right, air: -1 }), heard }]);
    for (const db of curveDb) expect(Math.abs(db)).toBeLessThan(4.5);
  });

  test('the curve is smooth: even where wishes turn by 6 dB within four third octaves, no step is over 2.5 dB', () => {
    const { curveDb } = solveWalk([stop('car', { low: 1, lowMid: -1, mid: 1, presence: -1, air: 1 })]);
    for (let i = 1; i < curveDb.length; i++) expect(Math.abs(curveDb[i] - curveDb[i - 1])).toBeLessThan(2.5);
  });
});
