import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type WideBandName, wideBandNames } from '../measure/wide-bands.ts';
import { bandCentresHz } from '../places/place-curve.ts';
import { solveWalk, type WalkStop } from '../places/walk-solve.ts';
import { readChain } from './chain.ts';
import type { Band } from './equaliser.ts';
import { walkBands, walkBandsCurve, walkChain } from './walk-chain.ts';

const plain = { slope: '12', on: 'both', phase: 'minimum' } as const;
const taps = fc.record(
  Object.fromEntries(wideBandNames.map((name) => [name, fc.constantFrom(-1, -0.5, 0, 0.5, 1)])) as Record<
    WideBandName,
    fc.Arbitrary<number>
  >,
);
const right = { low: 0, lowMid: 0, mid: 0, presence: 0, air: 0 };
const stop = (placeId: string, song: WalkStop['song']['taps']): WalkStop => ({
  placeId,
  name: placeId,
  trust: 1,
  song: { taps: song },
  references: [{ taps: right }],
  heard: null,
});

describe('the curve of a walk as bands', () => {
  test('a single band is found again; nothing takes no band', () => {
    const shelf: Band = { ...plain, shape: 'low-shelf', hertz: 120, q: 0.7, gainDb: -2.5 };
    const [one, ...more] = walkBands(walkBandsCurve([shelf]));
    expect(more).toEqual([]);
    expect(one.shape).toBe('low-shelf');
    expect(Math.abs(Math.log2(one.hertz / 120))).toBeLessThan(0.1);
    expect(one.gainDb).toBeCloseTo(-2.5, 1);
    expect(walkBands(new Float64Array(31))).toEqual([]);
  });

  test('solved walks come within 1 dB with at most four bands', () => {
    fc.assert(
      fc.property(fc.array(taps, { minLength: 2, maxLength: 4 }), (all) => {
        const { curveDb } = solveWalk(all.map((one, i) => stop(`place-${i}`, one)));
        const bands = walkBands(curveDb);
        expect(bands.length).toBeLessThanOrEqual(4);
        walkBandsCurve(bands).forEach((db, i) => {
          if (bandCentresHz[i] > 24 && bandCentresHz[i] < 17_000)
            expect(Math.abs(db - curveDb[i])).toBeLessThan(1);
        });
      }),
      { numRuns: 20, seed: 5 },
    );
  });

  test('each band can be refused, and the others stay as they are', () => {
    const { curveDb } = solveWalk([
      stop('car', { ...right, low: 1, presence: -1 }),
      stop('kitchen', { ...right, low: 1 }),
    ]);
    const all = walkChain(curveDb);
    expect(readChain(JSON.parse(JSON.stringify(all)))).toEqual(all);
    const bands = all.parts[0].settings.bands as readonly unknown[];
    expect(bands.length).toBeGreaterThan(1);
    for (const [i, band] of bands.entries()) {
      const rest = walkChain(curveDb, new Set([i])).parts[0].settings.bands;
      expect(rest).toEqual(bands.filter((each) => each !== band));
    }
    expect(walkChain(curveDb, new Set(bands.keys())).parts).toEqual([]);
  });
});
