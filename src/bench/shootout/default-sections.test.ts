import { expect, test } from 'vitest';
import { defaultSections } from './default-sections.ts';

const section = (label: string, startSeconds: number, endSeconds: number) => ({
  label,
  startSeconds,
  endSeconds,
  loudnessLufs: -12,
});

test('the loudest and the longest of other kinds, in order of time, at most 20 s each', () => {
  const sections = [
    section('A', 0, 12),
    section('B', 12, 50),
    section('C', 50, 54),
    section('B', 54, 99),
    section('D', 99, 140),
    section('E', 140, 150),
  ];
  expect(defaultSections({ sections, loudest: 1, quietest: 0 }, 150)).toEqual([
    { label: 'A', startSeconds: 0, endSeconds: 12 },
    { label: 'B', startSeconds: 12, endSeconds: 32 },
    { label: 'D', startSeconds: 99, endSeconds: 119 },
  ]);
});

test('a short sound is taken as it is', () => {
  expect(defaultSections({ sections: [section('A', 0, 5)], loudest: 0, quietest: 0 }, 5)).toEqual([
    { label: 'A', startSeconds: 0, endSeconds: 5 },
  ]);
});
