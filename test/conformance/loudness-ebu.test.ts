import { describe, expect, test } from 'vitest';
import { inAll, measure, toneSteps } from './loudness-signals.ts';

/**
 * EBU Tech 3341 v4 (minimum-requirement signals, tolerance 0.1 LU) and EBU Tech 3342 (1 LU), synthesised here:
 * 1 kHz sine, stereo, equal in both channels, level = peak dBFS a channel. Signals 7, 8 (and 5, 6 of 3342) are
 * recordings that may not be passed on and are not checked.
 */
const silence = Number.NEGATIVE_INFINITY;
const range = (count: number) => Array.from({ length: count }, (_, i) => i);
const stereo = (steps: readonly (readonly [number, number])[], rate = 48000) =>
  measure(inAll(toneSteps(steps, rate), 2, rate));

function expectNear(value: number | null, expected: number, tolerance: number) {
  expect(value).not.toBeNull();
  expect(Math.abs(value! - expected), `${value} against ${expected}`).toBeLessThanOrEqual(tolerance);
}

describe('EBU Tech 3341', () => {
  for (const rate of [44100, 48000, 96000])
    test.for([
      [1, -23],
      [2, -33],
    ])(`signal %i at ${rate} Hz: steady tone reads the same in M, S and I`, async ([, level]) => {
      const { loudness } = await stereo([[level, 20]], rate);
      expectNear(loudness.maxMomentaryLufs, level, 0.1);
      expectNear(loudness.maxShortTermLufs, level, 0.1);
      expectNear(loudness.integratedLufs, level, 0.1);
    });

  test.for([
    [
      3,
      [
        [-36, 10],
        [-23, 60],
        [-36, 10],
      ],
    ],
    [
      4,
      [
        [-72, 10],
        [-36, 10],
        [-23, 60],
        [-36, 10],
        [-72, 10],
      ],
    ],
    [
      5,
      [
        [-26, 20],
        [-20, 20.1],
        [-26, 20],
      ],
    ],
  ] as const)('signal %i: gates', async ([, steps]) => {
    expectNear((await stereo(steps)).loudness.integratedLufs, -23, 0.1);
  });

  test('signal 6: 5.1 weights', async () => {
    const at = (dbfs: number) => toneSteps([[dbfs, 20]]);
    const channels = [at(-28), at(-28), at(-24), at(silence), at(-30), at(-30)];
    expectNear((await measure({ sampleRate: 48000, channels })).loudness.integratedLufs, -23, 0.1);
  });

  test('signal 6 with a loud LFE: it does not count', async () => {
    const at = (dbfs: number) => toneSteps([[dbfs, 20]]);
    const channels = [at(-28), at(-28), at(-24), at(-6), at(-30), at(-30)];
    expectNear((await measure({ sampleRate: 48000, channels })).loudness.integratedLufs, -23, 0.1);
  });

  test('signal 9: short-term stays constant after 3 s', async () => {
    const { traces, loudness } = await stereo(
      range(5).flatMap(
        () =>
          [
            [-20, 1.34],
            [-30, 1.66],
          ] as const,
      ),
    );
    const settled = traces.loudness.shortTermLufs.slice(29);
    expect(settled).toHaveLength(121);
    for (const value of settled) expectNear(value, -23, 0.1);
    expectNear(loudness.maxShortTermLufs, -23, 0.1);
  });

  test.for(range(20))('signal 10, file %i: maximum short-term', async (i) => {
    const { loudness } = await stereo([
      [silence, i * 0.15],
      [-23, 3],
      [silence, 1],
    ]);
    expectNear(loudness.maxShortTermLufs, -23, 0.1);
  });

  test('signal 11: maximum short-term of each segment', async () => {
    const { traces } = await stereo(
      range(20).flatMap(
        (i) =>
          [
            [silence, i * 0.15],
            [-38 + i, 3],
            [silence, 3 - i * 0.15],
          ] as const,
      ),
    );
    for (const i of range(20)) {
      // The window that holds the tone ends at most 0.1 s after the tone does.
      const end = 60 * i + Math.round(i * 1.5) + 30;
      const seen = traces.loudness.shortTermLufs.slice(end - 2, end + 1).map((value) => value ?? -100);
      expectNear(Math.max(...seen), -38 + i, 0.1);
    }
  });

  test('signal 12: momentary stays constant after 1 s', async () => {
    const { traces } = await stereo(
      range(25).flatMap(
        () =>
          [
            [-20, 0.18],
            [-30, 0.22],
          ] as const,
      ),
    );
    for (const value of traces.loudness.momentaryLufs.slice(9)) expectNear(value, -23, 0.1);
  });

  test.for(range(20))('signal 13, file %i: maximum momentary', async (i) => {
    const { loudness } = await stereo([
      [silence, i * 0.02],
      [-23, 0.4],
      [silence, 1],
    ]);
    expectNear(loudness.maxMomentaryLufs, -23, 0.1);
  });

  test.for(range(20))('signal 14, segment %i: maximum momentary', async (i) => {
    // Each segment is measured by itself, after the silence that precedes it; the signal's levels rise, so
    // that the maximum up to the end of a segment is that segment's.
    const steps = range(i + 1).flatMap(
      (k) =>
        [
          [silence, k * 0.02],
          [-38 + k, 0.4],
          [silence, 0.4 - k * 0.02],
        ] as const,
    );
    expectNear((await stereo(steps)).loudness.maxMomentaryLufs, -38 + i, 0.1);
  });
});

describe('EBU Tech 3342', () => {
  test.for([
    [1, [-20, -30], 10],
    [2, [-20, -15], 5],
    [3, [-40, -20], 20],
    [4, [-50, -35, -20, -35, -50], 15],
  ] as const)('signal %i', async ([, levels, expected]) => {
    expectNear((await stereo(levels.map((level) => [level, 20] as const))).loudness.rangeLu, expected, 1);
  });
});
