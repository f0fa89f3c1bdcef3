import { expect, test } from 'vitest';
import { toneTrace } from './tone-trace.ts';

const trace = (steps: number, level: (step: number) => number) => ({
  stepSeconds: 0.25,
  firstSeconds: 0.125,
  centresHz: [100, 1000],
  levelsDb: Array.from({ length: steps }, (_, i) => Float32Array.of(level(i), -150)),
});

test('a short song is kept step by step, to whole decibels', () => {
  const { levelsDb, stepSeconds, firstSeconds } = toneTrace(trace(40, (i) => -20.4 - i));
  expect(levelsDb).toHaveLength(40);
  expect(levelsDb[3]).toEqual([-23, -150]);
  expect([stepSeconds, firstSeconds]).toEqual([0.25, 0.125]);
});

test('of a long song neighbours are joined by power, each in the middle of what it stands for', () => {
  const { levelsDb, stepSeconds, firstSeconds } = toneTrace(trace(1000, (i) => (i % 3 === 0 ? -10 : -150)));
  expect(levelsDb.length).toBeLessThanOrEqual(480);
  // One part in three at −10 dB: −14.8 dB.
  expect(levelsDb[0]).toEqual([-15, -150]);
  expect(stepSeconds).toBeCloseTo(0.75);
  expect(firstSeconds).toBeCloseTo(0.375);
});

test('nothing in, nothing out', () => {
  expect(toneTrace(trace(0, () => 0)).levelsDb).toEqual([]);
});
