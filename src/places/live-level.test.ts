import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { pinkLufsOverDba } from '../hearing/calibration.ts';
import { builtInPlaces, studio } from './built-in-places.ts';
import { assumedDeskDba, type LiveLevelWish, liveLevel } from './live-level.ts';

const flat = { ...studio, response: [{ hertz: 1000, db: 0 }] };
const wish: LiveLevelWish = {
  place: flat,
  levelDba: 62,
  noise: false,
  tone: null,
  lufs: -14,
  splAtZeroLufsDb: 90,
  levelDb: 0,
};

describe('liveLevel', () => {
  test('a place that changes nothing brings pink noise to the level by the calibration alone', () => {
    const { fullScaleDb, gainDb, deskDba } = liveLevel(wish);
    // The desk's 0 LUFS of pink noise are 90 dB(A); -14 LUFS are 76.
    expect(deskDba).toBeCloseTo(76, 0);
    expect(gainDb).toBeCloseTo(62 - 76, 0);
    expect(fullScaleDb).toBeCloseTo(62 + 14 + pinkLufsOverDba, 0);
  });

  test('never louder than the desk is, neither by sound nor by noise, and never beyond full scale', () => {
    fc.assert(
      fc.property(
        fc.record({
          place: fc.constantFrom(...builtInPlaces),
          levelDba: fc.double({ min: 40, max: 100, noNaN: true }),
          noise: fc.boolean(),
          tone: fc.constant(null),
          lufs: fc.double({ min: -40, max: -5, noNaN: true }),
          splAtZeroLufsDb: fc.option(fc.double({ min: 60, max: 120, noNaN: true })),
          levelDb: fc.double({ min: -40, max: 0, noNaN: true }),
        }),
        (each) => {
          const { gainDb, earDba, deskDba } = liveLevel(each);
          const noiseDba = earDba + (each.place.noise?.levelDba ?? 0) - each.levelDba;
          expect(earDba).toBeLessThanOrEqual(Math.min(each.levelDba, deskDba) + 1e-9);
          if (each.noise) expect(noiseDba).toBeLessThanOrEqual(deskDba + 1e-9);
          const lift = Math.max(...each.place.response.map(({ db }) => db));
          expect(gainDb + each.levelDb + lift).toBeLessThanOrEqual(1e-9);
        },
      ),
    );
  });

  test('without a calibration what is heard now counts as an assumed level, whatever the desk is set to', () => {
    for (const levelDb of [0, -20]) {
      const found = liveLevel({ ...wish, splAtZeroLufsDb: null, levelDb });
      expect(found.deskDba).toBeCloseTo(assumedDeskDba, 9);
      expect(found.gainDb).toBeCloseTo(62 - assumedDeskDba, 9);
    }
  });

  test('a place that hears little of a song has to be turned up for the same level', () => {
    const low = { centresHz: [80, 100], levelsDb: [0, 0] };
    const phone = builtInPlaces.find(({ id }) => id === 'phone')!;
    const bass = liveLevel({ ...wish, place: phone, tone: low });
    expect(bass.fullScaleDb).toBeGreaterThan(liveLevel({ ...wish, place: phone }).fullScaleDb + 20);
  });
});
