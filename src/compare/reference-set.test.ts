import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededMix } from '../../test/seeded-sound.ts';
import { type Pcm, slicePcm } from '../audio/pcm.ts';
import { spanLoudness } from '../measure/loudness-detail.ts';
import { measureSound } from '../measure/measure-sound.ts';
import type { Measurement } from '../measure/measurement.ts';
import { referenceOf, spreadsOf, standingOf } from './reference-set.ts';
import { type SetPart, sectionParts, setCentresHz, setFigureIds, wholePart } from './reference-set-part.ts';
import { placeIn, spreadOf } from './reference-set-spread.ts';

const rate = 32_000;
const measure = (pcm: Pcm): Promise<Measurement> =>
  measureSound([pcm], {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    frames: pcm.channels[0].length,
  });
const mix = (seed: number, sideDb = -8) => seededMix(seed, { sideDb, seconds: 12, sampleRate: rate });

/** As if one section had been found there. */
function withSection(measurement: Measurement, startSeconds: number, endSeconds: number): Measurement {
  const { integratedLufs } = spanLoudness(measurement.traces.loudness, { startSeconds, endSeconds });
  const section = { startSeconds, endSeconds, label: 'A', loudnessLufs: integratedLufs };
  return { ...measurement, sections: { sections: [section], loudest: 0, quietest: 0 } };
}

describe('quarters', () => {
  // R's quantile(x, type = 7) of these values, computed by hand.
  test.each([
    [
      [15, 1, 7, 3],
      [1, 2.5, 5, 9, 15],
    ],
    [[4], [4, 4, 4, 4, 4]],
    [
      [1, 2, null, 4],
      [1, 1.5, 2, 3, 4],
    ],
  ])('of %j are %j', (values, expected) => {
    const { count, ...spread } = spreadOf(values);
    expect(Object.values(spread)).toEqual(expected);
    expect(count).toBe(values.filter((value) => value !== null).length);
  });

  test('of nothing are none', () => {
    expect(spreadOf([null])).toMatchObject({ lowest: null, median: null, highest: null, count: 0 });
  });
});

const level = fc.option(fc.double({ min: -90, max: 10, noNaN: true }), { nil: null });
const part: fc.Arbitrary<SetPart> = fc
  .record({
    levelsDb: fc.array(level, { minLength: setCentresHz.length, maxLength: setCentresHz.length }),
    figures: fc.array(level, { minLength: setFigureIds.length, maxLength: setFigureIds.length }),
  })
  .map(({ levelsDb, figures }) => ({
    startSeconds: 0,
    endSeconds: 100,
    section: null,
    levelsDb,
    figures: Object.fromEntries(setFigureIds.map((id, i) => [id, figures[i]])) as SetPart['figures'],
  }));
const references = fc.array(
  part.map((whole) => ({ whole, loudest: whole })),
  { maxLength: 8 },
);

test('one more reference never narrows the spread from lowest to highest', () => {
  fc.assert(
    fc.property(references, part, (set, more) => {
      const before = spreadsOf(set).whole;
      const after = spreadsOf([...set, { whole: more, loudest: more }]).whole;
      const pairs = [
        ...before.bands.map((spread, i) => [spread, after.bands[i]] as const),
        ...setFigureIds.map((id) => [before.figures[id], after.figures[id]] as const),
      ];
      for (const [{ lowest, highest }, wider] of pairs) {
        if (lowest !== null) expect(wider.lowest).toBeLessThanOrEqual(lowest);
        if (highest !== null) expect(wider.highest).toBeGreaterThanOrEqual(highest);
      }
    }),
    { seed: 5, numRuns: 100 },
  );
});

test('a member of a set is never above or below any of it, and the quarters are in order', () => {
  fc.assert(
    fc.property(references, part, (set, member) => {
      const { whole } = spreadsOf([...set, { whole: member, loudest: member }]);
      const places = [
        ...whole.bands.map((spread, i) => placeIn(member.levelsDb[i], spread)),
        ...setFigureIds.map((id) => placeIn(member.figures[id], whole.figures[id])),
      ];
      for (const place of places) expect(place?.than).not.toBe('any');
      for (const { lowest, lowerQuarter, median, upperQuarter, highest } of whole.bands)
        if (lowest !== null) {
          const five = [lowest, lowerQuarter, median, upperQuarter, highest] as number[];
          expect(five).toEqual([...five].sort((a, b) => a - b));
        }
    }),
    { seed: 6, numRuns: 100 },
  );
});

describe('a part of a song', () => {
  test('does not depend on how loud the song is', async () => {
    const pcm = mix(1);
    const quieter: Pcm = { ...pcm, channels: pcm.channels.map((samples) => samples.map((x) => x / 4)) };
    const [loud, quiet] = [wholePart(await measure(pcm)), wholePart(await measure(quieter))];
    setCentresHz.forEach((_, band) => {
      const [a, b] = [loud.levelsDb[band], quiet.levelsDb[band]];
      if (a === null || b === null) expect(a).toBe(b);
      else expect(a).toBeCloseTo(b, 3);
    });
    expect(loud.figures.tiltDbPerOctave).toBeCloseTo(quiet.figures.tiltDbPerOctave!, 6);
  });

  test('of a section reads as that section does when it is a file of its own', async () => {
    const pcm = mix(2);
    const cut = slicePcm(pcm, 3 * rate, 10 * rate);
    const [section] = sectionParts(withSection(await measure(pcm), 3, 10));
    const alone = await measure(cut);
    const whole = wholePart(alone);
    setCentresHz.forEach((hz, band) => {
      const [a, b] = [section.levelsDb[band], whole.levelsDb[band]];
      // Where nearly nothing is, the whole decibels of the trace and the edges of the span weigh more.
      if (hz >= 50 && a !== null && b !== null && b > -40)
        expect(Math.abs(a - b), `${hz} Hz`).toBeLessThan(0.7);
    });
    expect(section.figures.integratedLufs).toBeCloseTo(whole.figures.integratedLufs!, 1);
    expect(section.figures.lowDb).toBeCloseTo(whole.figures.lowDb!, 0);
    expect(Math.abs(section.figures.sideToMidDb! - whole.figures.sideToMidDb!)).toBeLessThan(0.5);
    expect(Math.abs(section.figures.tiltDbPerOctave! - whole.figures.tiltDbPerOctave!)).toBeLessThan(0.1);
    // Sample peak against true peak.
    expect(section.figures.plrDb!).toBeLessThanOrEqual(whole.figures.plrDb! + 0.1);
    expect(section.figures.plrDb!).toBeGreaterThan(whole.figures.plrDb! - 1);
    expect(section.figures.truePeakDbtp).toBeNull();
  });

  test('a song in its own set is nowhere beyond any, neither whole nor in its loudest section', async () => {
    const measured = await Promise.all(
      [3, 4].map(async (seed) => withSection(await measure(mix(seed)), 2, 9)),
    );
    const set = spreadsOf(measured.map(referenceOf));
    for (const each of measured) {
      const { whole, sections } = standingOf(each, set);
      for (const { part: own, against, quiet } of [whole, ...sections]) {
        expect(quiet).toBe(false);
        own.levelsDb.forEach((db, i) => {
          expect(placeIn(db, against.bands[i])?.than).not.toBe('any');
        });
        for (const id of setFigureIds)
          expect(placeIn(own.figures[id], against.figures[id])?.than).not.toBe('any');
      }
    }
  });

  test('a file of another rate, and one in mono, can stand beside the others', async () => {
    const low = seededMix(5, { sideDb: -8, seconds: 6, sampleRate: 8000 });
    const mono: Pcm = { ...low, channels: [low.channels[0]] };
    const set = spreadsOf([referenceOf(await measure(mono)), referenceOf(await measure(mix(6)))]);
    expect(set.whole.bands).toHaveLength(setCentresHz.length);
    expect(set.whole.bands[setCentresHz.indexOf(8000)].count).toBe(1);
    expect(set.whole.figures.sideToMidDb.count).toBe(1);
  });
});
