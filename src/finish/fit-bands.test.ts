import fc from 'fast-check';
import { expect, test } from 'vitest';
import { analogueGainDb } from './analogue.ts';
import { type Band, bandSections } from './equaliser.ts';
import { fitBands } from './fit-bands.ts';

const thirds = Array.from({ length: 28 }, (_, i) => 31.5 * 2 ** (i / 3));
const plain = { slope: '12', on: 'both', phase: 'minimum' } as const;
const curveOf = (bands: readonly Band[]) =>
  thirds.map((hertz) => ({
    hertz,
    gainDb: bands.reduce((sum, band) => sum + analogueGainDb(bandSections(band), hertz), 0),
  }));
const limits = { most: 6, highestGainDb: 6, closeDb: 0.1 };

test('finds bands that made a curve: what is left is under 0.3 dB', () => {
  fc.assert(
    fc.property(
      fc.record({
        low: fc.double({ min: -4, max: 4, noNaN: true }),
        bell: fc.double({ min: -4, max: 4, noNaN: true }),
        bellHertz: fc.double({ min: 200, max: 3000, noNaN: true }),
        high: fc.double({ min: -4, max: 4, noNaN: true }),
      }),
      ({ low, bell, bellHertz, high }) => {
        const target = curveOf([
          { ...plain, shape: 'low-shelf', hertz: 120, gainDb: low, q: 0.7 },
          { ...plain, shape: 'bell', hertz: bellHertz, gainDb: bell, q: 1 },
          { ...plain, shape: 'high-shelf', hertz: 7000, gainDb: high, q: 0.7 },
        ]);
        const { bands, errorDb } = fitBands(target, limits);
        expect(errorDb).toBeLessThan(0.3);
        expect(bands.length).toBeLessThanOrEqual(6);
      },
    ),
    { numRuns: 8, seed: 3 },
  );
});

test('a flat curve needs no band; no band passes the limit', () => {
  expect(fitBands(curveOf([]), limits).bands).toEqual([]);
  const steep = thirds.map((hertz) => ({ hertz, gainDb: 20 * Math.sin(hertz / 500) }));
  for (const { gainDb } of fitBands(steep, limits).bands) expect(Math.abs(gainDb)).toBeLessThanOrEqual(6);
});

test('what has no weight is left alone', () => {
  const target = thirds.map((hertz) => ({
    hertz,
    gainDb: hertz > 8000 ? -20 : 0,
    weight: hertz > 8000 ? 0 : 1,
  }));
  expect(fitBands(target, limits).bands).toEqual([]);
});
