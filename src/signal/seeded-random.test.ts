import { expect, test } from 'vitest';
import { SeededRandom } from './seeded-random.ts';

const draws = 40_000;

test('the same seed draws the same, another one something else', () => {
  const draw = (seed: string | number) => {
    const random = new SeededRandom(seed);
    return Array.from({ length: 8 }, () => random.bits());
  };
  expect(draw('a')).toEqual(draw('a'));
  expect(draw(7)).toEqual(draw('7'));
  const firsts = new Set(Array.from({ length: 2000 }, (_, seed) => draw(seed)[0]));
  expect(firsts.size).toBe(2000);
});

test('even numbers are even, and neighbours independent', () => {
  const random = new SeededRandom('even');
  const values = Float64Array.from({ length: draws }, () => random.unit());
  const bins = new Float64Array(100);
  for (const value of values) bins[Math.floor(100 * value)]++;
  const chi = bins.reduce((sum, count) => sum + (count - draws / 100) ** 2 / (draws / 100), 0);
  // 99 degrees of freedom: 0.1 % lie above 149.
  expect(chi).toBeLessThan(149);
  let together = 0;
  for (let i = 1; i < draws; i++) together += (values[i] - 0.5) * (values[i - 1] - 0.5);
  expect(Math.abs((12 * together) / draws)).toBeLessThan(3.3 / Math.sqrt(draws));
});

test('normal numbers have mean 0, deviation 1 and thin tails', () => {
  const random = new SeededRandom('normal');
  const values = Float64Array.from({ length: draws }, () => random.normal());
  const mean = values.reduce((sum, x) => sum + x, 0) / draws;
  const square = values.reduce((sum, x) => sum + x * x, 0) / draws;
  expect(Math.abs(mean)).toBeLessThan(3.3 / Math.sqrt(draws));
  expect(Math.abs(square - 1)).toBeLessThan(3.3 * Math.sqrt(2 / draws));
  const beyond = values.filter((x) => Math.abs(x) > 1.96).length / draws;
  expect(Math.abs(beyond - 0.05)).toBeLessThan(0.0036);
});

test('every order of three comes up equally often', () => {
  const random = new SeededRandom('orders');
  const counts = new Map<string, number>();
  for (let i = 0; i < 6000; i++) {
    const key = random.shuffle([0, 1, 2]).join('');
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  expect(counts.size).toBe(6);
  for (const count of counts.values()) expect(Math.abs(count - 1000)).toBeLessThan(100);
});
