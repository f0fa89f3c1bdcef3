import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { levelAdvice } from '../judge/level-words.ts';
import { biquadGain, kWeighting } from '../signal/k-weighting.ts';
import { calibrationOf, pinkLufsOverDba, splOf } from './calibration.ts';
import { dailyAllowance, exposureOf, type Listener, type Stretch, secondsAllowed } from './exposure.ts';

const now = Date.UTC(2026, 2, 10, 12);
const dayStart = Date.UTC(2026, 2, 10);
const hour = 3600;
const at = (stretches: readonly Stretch[], listener: Listener = 'adult') =>
  exposureOf(stretches, { nowMs: now, dayStartMs: dayStart, listener });
const stretch = (endedAgo: number, seconds: number, splDb: number | null): Stretch => ({
  endedMs: now - endedAgo * 1000,
  seconds,
  splDb,
});

describe('allowances', () => {
  // WHO-ITU H.870: adults 80 dBA for 40 h a week, sensitive listeners 75 dBA; NIOSH 98-126: 85 dBA for 8 h, 3 dB.
  test.each([
    ['adult', 80, 40, 1],
    ['adult', 83.0103, 20, 1],
    ['adult', 90, 4, 1],
    ['sensitive', 75, 40, 1],
    ['sensitive', 80, 40, 3.1623],
  ] as const)('of a week, %s: %s dBA for %s h use %s', (listener, splDb, hours, share) => {
    expect(at([stretch(0, hours * hour, splDb)], listener).week.shareOfAllowance).toBeCloseTo(share, 3);
  });

  // NIOSH 98-126, table 1-1 (from memory).
  test.each([
    [85, 8],
    [88, 4],
    [91, 2],
    [94, 1],
    [100, 0.25],
  ])('of a day: %s dBA may last %s h, to the table’s rounding', (splDb, hours) => {
    expect(secondsAllowed(splDb, dailyAllowance) / hour).toBeCloseTo(hours, 1);
  });

  test('only what lies in the week and the day counts', () => {
    const heard = at([
      stretch(8 * 24 * hour, hour, 80),
      stretch(11.5 * hour, hour, 80),
      stretch(hour, hour, 80),
    ]);
    expect(heard.week).toEqual({ seconds: 2 * hour, shareOfAllowance: 2 / 40 });
    expect(heard.today.seconds).toBe(1.5 * hour);
  });

  test('without a level there is a time and no share', () => {
    expect(at([stretch(0, hour, null)]).week).toEqual({ seconds: hour, shareOfAllowance: null });
    expect(at([]).week).toEqual({ seconds: 0, shareOfAllowance: null });
  });

  test('cutting a stretch in two changes nothing; more sound never makes the share smaller', () => {
    const times = fc.array(
      fc.tuple(fc.integer({ min: 1, max: 900 }), fc.double({ min: 40, max: 110, noNaN: true })),
      {
        minLength: 1,
        maxLength: 20,
      },
    );
    fc.assert(
      fc.property(times, (parts) => {
        let ago = 0;
        const whole: Stretch[] = [];
        const halves: Stretch[] = [];
        for (const [seconds, splDb] of parts) {
          whole.push(stretch(ago, seconds, splDb));
          halves.push(stretch(ago, seconds / 2, splDb), stretch(ago + seconds / 2, seconds / 2, splDb));
          ago += seconds;
        }
        expect(at(halves).week.shareOfAllowance).toBeCloseTo(at(whole).week.shareOfAllowance!, 9);
        expect(at(halves).sinceBreakSeconds).toBeCloseTo(at(whole).sinceBreakSeconds, 6);
        expect(at(whole.slice(1)).week.shareOfAllowance ?? 0).toBeLessThanOrEqual(
          at(whole).week.shareOfAllowance!,
        );
      }),
      { seed: 2, numRuns: 100 },
    );
  });
});

describe('the listening clock', () => {
  test.each([
    ['short pauses are none', [stretch(10, 600, null), stretch(10 + 600 + 299, 600, null)], 1200, 0],
    ['five minutes are one', [stretch(10, 600, null), stretch(10 + 600 + 300, 700, null)], 600, 700],
    ['in a pause nothing has been heard since', [stretch(300, 600, null)], 0, 600],
    ['nothing at all', [], 0, 0],
  ] as const)('%s', (_name, stretches, since, before) => {
    expect(at(stretches)).toMatchObject({ sinceBreakSeconds: since, beforeBreakSeconds: before });
  });
});

describe('advice', () => {
  const advice = (stretches: readonly Stretch[], uncertaintyDb: number | null = 4) =>
    levelAdvice(at(stretches), uncertaintyDb);

  test.each([
    ['nothing to say', [stretch(0, 600, 75)], null],
    ['an hour without a pause', [stretch(0, 4000, 75)], /listened for 1 h 7 min without a pause/],
    ['loud now', [stretch(0, 60, 91.2)], /about 91 dBA loud, give or take 4: .* lasts 1 h 55 min/],
    ['the week is used up', [stretch(0, 5 * hour, 90)], /week’s sound allowance is used up \(125 %\)/],
    ['the day is used up', [stretch(0, 2 * hour, 91.5)], /today’s sound allowance is used up/],
    ['the week is nearly used', [stretch(60 * hour, 34 * hour, 80)], /^85 % of the week/],
    ['fresh ears', [stretch(0, 60, 70), stretch(1000, 1800, 70)], /play a reference first/],
    ['hardly worked before the pause', [stretch(0, 60, 70), stretch(1000, 600, 70)], null],
  ])('%s', (_name, stretches, expected) => {
    const said = advice(stretches);
    if (expected === null) expect(said).toBeNull();
    else expect(said).toMatch(expected);
  });

  test('what touches health defers to those who know', () => {
    for (const splDb of [85.5, 95, 105])
      expect(advice([stretch(0, 5 * hour, splDb)])).toMatch(
        /rules where you work go first.*qualified for hearing/,
      );
  });
});

describe('calibration', () => {
  /** A-weighting, IEC 61672-1 Annex E (from memory); 0 dB at 1 kHz. */
  function aWeight(hz: number): number {
    const f = hz * hz;
    const raw = (x: number) =>
      (12194 ** 2 * x * x) /
      ((x + 20.6 ** 2) * Math.sqrt((x + 107.7 ** 2) * (x + 737.9 ** 2)) * (x + 12194 ** 2));
    return raw(f) / raw(1e6);
  }

  test('what the meter showed is what the same noise is then said to be', () => {
    // Pink noise: equal power in each step of a logarithmic axis.
    const { shelf, highPass } = kWeighting(48_000);
    let [all, k, a] = [0, 0, 0];
    for (let i = 0; i < 3000; i++) {
      const hz = 20 * 1000 ** ((i + 0.5) / 3000);
      all += 1;
      k += (biquadGain(shelf, hz, 48_000) * biquadGain(highPass, hz, 48_000)) ** 2;
      a += aWeight(hz) ** 2;
    }
    const power = 0.01;
    // Two channels: loudness adds them, the level that is sent out is their mean.
    const noiseLufs = -0.691 + 10 * Math.log10((2 * power * k) / all);
    const levelDbfsA = 10 * Math.log10((power * a) / all);
    expect(noiseLufs - levelDbfsA).toBeCloseTo(pinkLufsOverDba, 1);
    const calibration = calibrationOf({ by: 'meter', splDb: 74, noiseLufs });
    expect(splOf(levelDbfsA, calibration)).toBeCloseTo(74, 1);
    // 6 dB less sent out is 6 dB less heard.
    expect(splOf(levelDbfsA - 6, calibration)).toBeCloseTo(68, 1);
  });

  test('the talk test is rougher than a meter, and louder voices mean louder sound', () => {
    const talk = (['normal', 'raised', 'loud', 'shouting'] as const).map((voice) =>
      calibrationOf({ by: 'talk', voice, noiseLufs: -23 }),
    );
    const levels = talk.map(({ splAtZeroLufsDb }) => splAtZeroLufsDb);
    expect(levels).toEqual([...levels].sort((a, b) => a - b));
    const meter = calibrationOf({ by: 'meter', splDb: 70, noiseLufs: -23 });
    expect(talk[0].uncertaintyDb).toBeGreaterThan(meter.uncertaintyDb);
  });
});
