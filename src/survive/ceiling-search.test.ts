import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { closeEnoughDb, keepsLimit, searchCeiling } from './ceiling-search.ts';

/** A decoder whose peak follows the trim but for jumps of up to `roughDb`, the same for the same trim. */
function codec(growthDb: number, roughDb: number, seed: number) {
  let encodes = 0;
  return {
    get encodes() {
      return encodes;
    },
    codeAt: async (trimDb: number) => {
      encodes++;
      const scattered = Math.sin((trimDb + 0.37) * 9973 + seed * 77.7) * 43_758.5453;
      return growthDb - trimDb + roughDb * (2 * (scattered - Math.floor(scattered)) - 1);
    },
  };
}

describe('searchCeiling', () => {
  test('as smooth as arithmetic: within 0.15 dB of what is needed, in 3 encodes', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.double({ min: 0.2, max: 8, noNaN: true }),
        fc.double({ min: -2, max: 0, noNaN: true }),
        async (growth, limitDbtp) => {
          const smooth = codec(growth, 0, 0);
          const { trimDb } = await searchCeiling(smooth.codeAt, { limitDbtp });
          expect(smooth.encodes).toBeLessThanOrEqual(3);
          expect(trimDb).toBeGreaterThanOrEqual(growth - limitDbtp - 0.002);
          expect(trimDb).toBeLessThan(growth - limitDbtp + closeEnoughDb);
        },
      ),
      { seed: 1 },
    );
  });

  test('however rough: never more than 4 encodes, and no answer at or below a trim that failed', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.double({ min: -1, max: 4, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer(),
        async (growth, rough, seed) => {
          const rugged = codec(growth, rough, seed);
          const { trimDb, points } = await searchCeiling(rugged.codeAt, { limitDbtp: 0 });
          expect(rugged.encodes).toBeLessThanOrEqual(4);
          expect(points.length).toBe(rugged.encodes);
          for (const point of points)
            if (!keepsLimit(point.truePeakDbtp, 0)) expect(trimDb).toBeGreaterThan(point.trimDb);
          // No encode twice.
          expect(new Set(points.map((point) => point.trimDb)).size).toBe(points.length);
        },
      ),
      { seed: 2, numRuns: 300 },
    );
  });

  test('a trim that failed makes smaller ones count as failed, though they held', async () => {
    const known = [
      { trimDb: 0, truePeakDbtp: 1 },
      { trimDb: 0.5, truePeakDbtp: -0.1 },
      { trimDb: 0.9, truePeakDbtp: 0.2 },
    ];
    const { trimDb } = await searchCeiling(async (at) => 1 - at, { limitDbtp: 0, known });
    expect(trimDb).toBeCloseTo(1.1, 9);
  });

  test('what keeps the limit as it is needs one encode, none when that is known; silence too', async () => {
    const quiet = codec(-1, 0, 0);
    expect((await searchCeiling(quiet.codeAt, { limitDbtp: 0 })).trimDb).toBe(0);
    expect(quiet.encodes).toBe(1);
    const known = [{ trimDb: 0, truePeakDbtp: -1 }];
    expect((await searchCeiling(quiet.codeAt, { limitDbtp: 0, known })).points).toEqual(known);
    expect((await searchCeiling(async () => null, { limitDbtp: 0 })).trimDb).toBe(0);
  });
});
