import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { SameSong, VersionChange } from '../compare/change-result.ts';
import { changedRanges, changeSentences } from './change-words.ts';

const centresHz = [50, 63, 80, 100, 125];
const flat = centresHz.map(() => 0);

function change(same: Partial<SameSong> = {}): VersionChange {
  return {
    similarity: 0.97,
    reason: null,
    same: {
      alignment: {
        offsetSeconds: 0,
        offsetSamples: 0,
        driftPpm: 0,
        scatterSamples: 0.02,
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
      tone: { centresHz, changeDb: flat },
      sections: [],
      dynamics: { crestDb: 0, plrDb: 0, rangeLu: 0, samplePeakDb: 0, truePeakDb: 0 },
      width: { sideToMidDb: 0, sideToMidByBandDb: flat },
      unlike: [],
      ...same,
    },
  };
}

test('a copy is told as a copy', () => {
  expect(changeSentences(change())).toEqual([
    'Both are equally loud.',
    'Otherwise nothing changed that could be heard.',
  ]);
});

test('neighbouring bands that moved alike are one range; the largest comes first', () => {
  const ranges = changedRanges({ centresHz, changeDb: [-1, 0.2, 2, 3, null] });
  expect(ranges).toEqual([
    { fromHz: 80, toHz: 100, changeDb: 2.5 },
    { fromHz: 50, toHz: 50, changeDb: -1 },
  ]);
  expect(changeSentences(change({ tone: { centresHz, changeDb: [-1, 0.2, 2, 3, null] } }))[1]).toBe(
    'Tone: 2.5 dB more from 80 Hz to 100 Hz and 1.0 dB less around 50 Hz.',
  );
});

test('a master of a mix: louder, squeezed, narrower, later, upside down', () => {
  const base = change().same as SameSong;
  const said = changeSentences(
    change({
      gainDb: 6.2,
      dynamics: { ...base.dynamics, plrDb: -3, rangeLu: -2 },
      width: { sideToMidDb: -1.5, sideToMidByBandDb: flat },
      alignment: { ...base.alignment, offsetSeconds: 0.0123, inverted: [true, true] },
    }),
  ).join(' ');
  for (const words of [
    'It is 6.2 LU louder',
    'squeezed harder',
    '2.0 LU closer together',
    'narrower',
    'starts 12.30 ms later',
    'polarity is flipped',
  ])
    expect(said).toContain(words);
});

test('two songs that are not one are told so and nothing else', () => {
  const reason = 'These are not two versions of one recording.';
  expect(changeSentences({ similarity: 0.1, same: null, reason })).toEqual([reason]);
});

test('whatever is measured, no sentence holds NaN, undefined or a hyphen for a minus', () => {
  const db = fc.double({ min: -60, max: 60, noNaN: true });
  const maybe = fc.option(db, { nil: null });
  fc.assert(
    fc.property(
      db,
      fc.array(maybe, { minLength: 5, maxLength: 5 }),
      maybe,
      maybe,
      db,
      (gainDb, bands, plrDb, side, late) => {
        const base = change().same as SameSong;
        const text = changeSentences(
          change({
            gainDb,
            tone: { centresHz, changeDb: bands },
            dynamics: { ...base.dynamics, plrDb },
            width: { sideToMidDb: side, sideToMidByBandDb: flat },
            alignment: { ...base.alignment, offsetSeconds: late / 100, driftPpm: late },
          }),
        ).join(' ');
        expect(text).not.toMatch(/NaN|undefined|null|Infinity| -\d/);
      },
    ),
  );
});
