import { expect, test } from 'vitest';
import { about, secondsFrom, writtenSeconds } from './words.ts';

test.each([
  ['83', 83],
  ['1:23', 83],
  ['1:23.5', 83.5],
  [' 0:07,25 ', 7.25],
  ['1:75', null],
  ['', null],
  ['soon', null],
  ['-3', null],
])('a time written as “%s” is %s s', (text, seconds) => {
  expect(secondsFrom(text)).toBe(seconds);
});

test('a time is written as it is read', () => {
  for (const seconds of [0, 7, 59.5, 83.25, 600]) expect(secondsFrom(writtenSeconds(seconds))).toBe(seconds);
});

test('a length is told in minutes, none of them less than one', () => {
  expect([about(10), about(95), about(1190)]).toEqual([
    'about a minute',
    'about 2 minutes',
    'about 20 minutes',
  ]);
});
