import { expect, test } from 'vitest';
import type { SameSong, SectionChange } from '../compare/change-result.ts';
import { lessonsOf } from './lesson-words.ts';

const centresHz = [63, 1000, 4000];
const section = (label: string, at: number, changeDb: number[], levelDb = 0): SectionChange => ({
  label,
  startSeconds: at,
  endSeconds: at + 30,
  centresHz,
  changeDb,
  levelDb,
});
const unchanged: SameSong = {
  alignment: {
    offsetSeconds: 0,
    offsetSamples: 0,
    driftPpm: 0,
    scatterSamples: 0,
    inverted: [false, false],
    swapped: false,
  },
  length: {
    shared: { startSeconds: 0, endSeconds: 60 },
    headSeconds: 0,
    tailSeconds: 0,
    headSilent: true,
    tailSilent: true,
  },
  gainDb: 0,
  tone: { centresHz, changeDb: [0, 0, 0] },
  sections: [section('A', 0, [0, 0, 0]), section('B', 30, [0, 0, 0])],
  dynamics: { crestDb: 0, plrDb: 0, rangeLu: 0, samplePeakDb: 0, truePeakDb: 0 },
  width: { sideToMidDb: 0, sideToMidByBandDb: [0, 0, 0] },
  unlike: [],
};
const level = { integratedLufs: -12, truePeakDbtp: -1 };
const names = { entry: 'Ottilie', against: 'yours' };
const lessons = (same: Partial<SameSong>, entry = level) =>
  lessonsOf({ ...unchanged, ...same }, { entry, against: level }, names);

test('nothing is learned from the same', () => {
  expect(lessons({})).toEqual([]);
});

test('tone is told with the section in which most of it is, to be looped', () => {
  const sections = [section('A', 0, [0, 0, 1]), section('B', 30, [0, 0, 3])];
  expect(lessons({ tone: { centresHz, changeDb: [0, 0, 2] }, sections })).toEqual([
    {
      what: 'tone',
      sentence:
        'At equal loudness Ottilie has 2.0 dB more than yours around 4 kHz, most of it (3.0 dB) in section B.',
      place: { startSeconds: 30, endSeconds: 42 },
    },
  ]);
});

test('gain, squeeze, sections, width, low end and ceiling are told one by one', () => {
  const all = lessons(
    {
      gainDb: 2,
      dynamics: { ...unchanged.dynamics, plrDb: -1.5, rangeLu: -1 },
      sections: [section('A', 0, [0, 0, 0], 1), section('B', 30, [0, 0, 0], -1.2)],
      width: { sideToMidDb: 1, sideToMidByBandDb: [-6, 2, 2] },
    },
    { integratedLufs: -10, truePeakDbtp: -0.2 },
  );
  expect(all.map(({ what }) => what)).toEqual([
    'low-end',
    'dynamics',
    'dynamics',
    'width',
    'gain',
    'ceiling',
  ]);
  expect(all[0].sentence).toMatch(/^Below 120 Hz Ottilie is closer to mono than yours: .+ 6\.0 dB weaker\.$/);
  // Squeezing is heard where the loud part was held back.
  expect(all[1].place?.startSeconds).toBe(30);
  expect(all[2].sentence).toMatch(
    /section B 1\.2 dB quieter than yours; loud and quiet parts lie 1\.0 LU closer/,
  );
  expect(all[4]).toMatchObject({ place: null, sentence: expect.stringContaining('2.0 LU louder') });
  expect(all[5].sentence).toBe('The highest true peak of Ottilie is −0.2 dBTP, that of yours −1.0 dBTP.');
});
