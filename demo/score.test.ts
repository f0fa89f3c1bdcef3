import { expect, test } from 'vitest';
import { formOf, steps } from './form.ts';
import { tune } from './players/melody.ts';
import { clockOf, play } from './score.ts';

test('a pattern is laid over the chords, bar after bar', () => {
  const [verse] = formOf(4, [{ name: 'verse', chords: 'C | F G' }]).sections;
  const laid = steps(verse, 4, '1.5.');
  expect(laid.map((s) => [s.beat, s.beats, s.mark, s.chord.chord.root])).toEqual([
    [0, 2, '1', 0],
    [2, 2, '5', 0],
    [4, 2, '1', 5],
    [6, 2, '5', 7],
  ]);
});

test('a tune is read with its rests and syllables', () => {
  const notes = tune('r:.5 A4:1.5/na | B4:2', 8);
  expect(notes.map((n) => [n.beat, n.beats, n.pitch, n.word])).toEqual([
    [8.5, 1.5, 69, 'na'],
    [10, 2, 71, '-'],
  ]);
});

test('the clock slows down at the end and never runs back', () => {
  const clock = clockOf(120, { leadInSeconds: 0.2, slowFromBeat: 8, slowBy: 0.1 });
  expect(clock(0)).toBeCloseTo(0.2, 12);
  expect(clock(8)).toBeCloseTo(4.2, 12);
  expect(clock(10) - clock(9)).toBeGreaterThan(clock(9) - clock(8));
});

test('a player is loose by as much as was asked, late by as much, and the same each time', () => {
  const notes = Array.from({ length: 400 }, (_, i) => ({ beat: i + 1, beats: 1, pitch: 60, velocity: 0.6 }));
  const clock = clockOf(120);
  const feel = { looseSeconds: 0.008, lateSeconds: 0.01 };
  const played = play(notes, clock, feel, 'seed');
  expect(play(notes, clock, feel, 'seed')).toEqual(played);
  const off = played.map((n, i) => n.atSeconds - clock(i + 1));
  const mean = off.reduce((a, b) => a + b) / off.length;
  const spread = Math.sqrt(off.reduce((sum, x) => sum + (x - mean) ** 2, 0) / off.length);
  expect(mean).toBeGreaterThan(0.006);
  expect(mean).toBeLessThan(0.014);
  expect(spread).toBeGreaterThan(0.006);
  expect(spread).toBeLessThan(0.014);
  expect(Math.max(...off.map((x) => Math.abs(x - mean)))).toBeLessThan(0.05);
});
