import { describe, expect, test } from 'vitest';
import { integratedLufs, loudnessLufs, rangeLu } from './gating.ts';

/** `count` blocks of one loudness. */
function blocks(lufs: number, count: number): number[] {
  return new Array<number>(count).fill(10 ** ((lufs + 0.691) / 10));
}

describe('gates of ITU-R BS.1770-5 Annex 1 (eqs. 5 to 7)', () => {
  test('blocks at or below -70 LUFS do not count, those just above do', () => {
    expect(integratedLufs([...blocks(-70.1, 50), ...blocks(-64, 50)])).toBeCloseTo(-64, 6);
    const mixed = 10 * Math.log10((10 ** -6.99 + 10 ** -6.4) / 2);
    expect(integratedLufs([...blocks(-69.9, 50), ...blocks(-64, 50)])).toBeCloseTo(mixed, 6);
    expect(integratedLufs(blocks(-70.01, 9))).toBeNull();
    expect(integratedLufs([])).toBeNull();
  });

  test('then blocks 10 LU or more below the mean of the others', () => {
    // Mean of one at -20 and nine at -29.x: the gate lies 10 LU below -26.5.
    const loud = blocks(-20, 1);
    expect(integratedLufs([...loud, ...blocks(-40, 9)])).toBeCloseTo(-20, 1);
    expect(integratedLufs([...loud, ...blocks(-36, 9)])).toBeGreaterThan(-30);
    expect(integratedLufs([...loud, ...blocks(-29, 9)])).toBeCloseTo(
      10 * Math.log10((0.01 + 9 * 10 ** -2.9) / 10),
      6,
    );
  });

  test('loudness of nothing is minus infinity, never NaN', () => {
    expect(loudnessLufs(0)).toBe(Number.NEGATIVE_INFINITY);
  });
});

describe('range of EBU Tech 3342', () => {
  test('runs from the 10th to the 95th percentile of what is within 20 LU of the mean', () => {
    const steps = Array.from({ length: 101 }, (_, i) => blocks(-30 + i / 10, 1)).flat();
    expect(rangeLu(steps)).toBeCloseTo(8.5, 6);
    expect(rangeLu([...steps, ...blocks(-55, 100)])).toBeCloseTo(8.5, 6);
    expect(rangeLu([...steps, ...blocks(-71, 500)])).toBeCloseTo(8.5, 6);
    expect(rangeLu([...steps, ...blocks(-40, 101)])).toBeGreaterThan(17);
  });

  test('one block has no range to speak of, none has no range at all', () => {
    expect(rangeLu(blocks(-20, 1))).toBe(0);
    expect(rangeLu(blocks(-80, 40))).toBeNull();
  });
});
