import { expect, test } from 'vitest';
import { recordConsistency, type SongFigures } from './consistency.ts';

const figures = (loudness: number | null, tone = -6): SongFigures => ({
  loudness,
  tone,
  lowEnd: 2,
  width: -9,
  truePeakDbtp: -1,
});

test('a player that keeps a record together leaves its differences; one that turns each song takes most of them', () => {
  const { recordGainDb, intendedSpreadLu, bySongSpreadLu, songs } = recordConsistency([
    figures(-9),
    figures(-11),
    figures(-17.5),
  ]);
  expect(recordGainDb).toBe(-5);
  expect(songs.map(({ byRecordDb }) => byRecordDb)).toEqual([-5, -5, -5]);
  expect(songs.map(({ bySongDb }) => bySongDb)).toEqual([-7, -5, 0]);
  expect(intendedSpreadLu).toBe(8.5);
  expect(bySongSpreadLu).toBe(1.5);
});

test('only what lies apart gets a suggestion, and only as far as the usual distance', () => {
  const { middle, songs } = recordConsistency([
    figures(-10),
    figures(-10.5),
    figures(-14),
    figures(-9.8, -11),
  ]);
  expect(middle.loudness).toBeCloseTo(-10.25);
  expect(songs[0].suggestions).toEqual({});
  expect(songs[2].suggestions.loudness).toBeCloseTo(1.75);
  expect(songs[3].suggestions.tone).toBeCloseTo(2.5);
});

test('silence has no figures and changes no others', () => {
  const { songs, recordGainDb } = recordConsistency([figures(null), figures(-20)]);
  expect(recordGainDb).toBe(0);
  expect(songs[0].byRecordDb).toBeNull();
});
