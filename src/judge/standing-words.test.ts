import { expect, test } from 'vitest';
import type { PartStanding, SetSpread } from '../compare/reference-set.ts';
import { type SetFigureId, type SetPart, setCentresHz, setFigureIds } from '../compare/reference-set-part.ts';
import { type Spread, spreadOf } from '../compare/reference-set-spread.ts';
import { partLabel, standingHeadline, standingSentences } from './standing-words.ts';

/** Six references that lie at -20 dB in every band, 1 dB apart, and so with every figure around 0. */
const against: SetSpread = {
  centresHz: setCentresHz,
  bands: setCentresHz.map(() => spreadOf([-22, -21, -20, -20, -19, -18])),
  figures: Object.fromEntries(setFigureIds.map((id) => [id, spreadOf([-2, -1, 0, 0, 1, 2])])) as Record<
    SetFigureId,
    Spread
  >,
};

function standing(
  byHz: Readonly<Record<number, number>>,
  figures: Partial<SetPart['figures']> = {},
  section: string | null = null,
  quiet = false,
): PartStanding {
  const none = Object.fromEntries(setFigureIds.map((id) => [id, 0])) as SetPart['figures'];
  const part = {
    startSeconds: 62,
    endSeconds: 100,
    section,
    levelsDb: setCentresHz.map((hz) => byHz[hz] ?? -20),
    figures: { ...none, ...figures },
  };
  return { part, against, quiet };
}

test('neighbouring bands above any are joined into one sentence', () => {
  expect(standingSentences(standing({ 80: -15, 100: -14, 125: -16, 160: -15 }), 6)).toEqual([
    'Between 80 and 160 Hz you are 3 dB above any of your references.',
  ]);
});

test.each([
  [{ 63: -15 }, 'Around 63 Hz you are 3 dB above any of your references.'],
  [{ 63: -25 }, 'Around 63 Hz you are 3 dB below any of your references.'],
  [
    { 800: -15, 1000: -15, 1250: -15 },
    'Between 800 Hz and 1.25 kHz you are 3 dB above any of your references.',
  ],
  [{ 2000: -15, 2500: -15 }, 'Between 2 and 2.5 kHz you are 3 dB above any of your references.'],
])('%j: %s', (bands, sentence) => {
  expect(standingSentences(standing(bands), 6)).toEqual([sentence]);
});

test('the slope of what lies above any is not told again; what lies above most elsewhere is', () => {
  // The upper quarter of -22 .. -18 lies at -19.25.
  const told = standingSentences(standing({ 63: -18.1, 80: -15, 4000: -18.1 }), 6);
  expect(told).toEqual([
    'Around 80 Hz you are 3 dB above any of your references.',
    'Around 4 kHz you are 1 dB above most of your references.',
  ]);
});

test('what nobody hears is not told, nor is a difference too small to hear', () => {
  const within = ['In tone, dynamics and width you lie where your references lie.'];
  expect(standingSentences(standing({ 20: 10, 25: -60, 20000: 10, 500: -17.5 }), 6)).toEqual(within);
});

test('most telling first, five at most; loudness and peaks are told of whole songs only', () => {
  const figures = {
    integratedLufs: 9,
    tiltDbPerOctave: -2.9,
    plrDb: -4,
    rangeLu: 5,
    sideToMidDb: -8,
    lowDb: 4,
    truePeakDbtp: 3,
  };
  const told = standingSentences(standing({ 80: -10, 100: -10, 125: -10 }, figures), 6);
  expect(told).toHaveLength(5);
  expect(told[0]).toBe('Between 80 and 125 Hz you are 8 dB above any of your references.');
  expect(told[1]).toBe('You are 7.0 LU louder than any of your references.');
  const section = standingSentences(standing({}, figures, 'B'), 6).join(' ');
  expect(section).not.toMatch(/louder|highest peak|further apart/);
  expect(section).toContain('You are narrower than any of your references: the sides are 6.0 dB lower.');
});

test('what a quiet section lacks is no fault', () => {
  expect(standingSentences(standing({ 80: -60, 100: -60 }, { lowDb: -30 }, 'A', true), 6)).toEqual([
    'A quieter part; nothing in it stands out above your references.',
  ]);
});

test('a small set is said to be small, an empty one to be empty', () => {
  const whole = standing({ 63: -15 });
  const headline = (count: number) => standingHeadline({ whole, sections: [], count });
  expect(headline(6)).toBe('Around 63 Hz you are 3 dB above any of your references.');
  expect(headline(4)).toMatch(
    /any of your references\. Four references can hardly say what is usual; five or more can\.$/,
  );
  expect(headline(1)).toMatch(/^Around 63 Hz you are 3 dB above your reference\. One reference/);
  expect(headline(0)).toContain('has been checked yet');
  expect(standingSentences(whole, 0)).toEqual([]);
});

test('a part is called by its letter and time', () => {
  expect(partLabel(standing({}, {}, 'B').part)).toBe('section B, 1:02 to 1:40');
  expect(partLabel(standing({}).part)).toBe('the whole song');
});
