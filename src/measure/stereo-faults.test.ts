import { describe, expect, test } from 'vitest';
import { stereoOf } from '../../test/measure-parts.ts';
import { seeded, seededMix } from '../../test/seeded-sound.ts';
import type { Pcm } from '../audio/pcm.ts';
import type { StereoResult } from './stereo-result.ts';

const cases = 200;
const sampleRate = 11025;
const seconds = 6;

const turned = (samples: Float32Array) => samples.map((x) => -x);

function late(samples: Float32Array, by: number): Float32Array {
  const moved = new Float32Array(samples.length);
  moved.set(samples.subarray(0, samples.length - by), by);
  return moved;
}

interface Told {
  readonly seed: number;
  readonly clean: StereoResult;
  readonly flipped: StereoResult;
  readonly flippedPart: StereoResult;
  readonly moved: StereoResult;
  readonly delay: number;
  readonly silent: StereoResult;
  readonly same: StereoResult;
}

/** Stretch that is upside down in `flippedPart`, s. */
const part = { from: 1.5, to: 4.5 };

/** 200 mixes from narrow to as wide as mixes get, each whole and broken in five ways. */
const told: readonly Told[] = Array.from({ length: cases }, (_, seed) => {
  const random = seeded(1000 + seed);
  const pcm = seededMix(seed, { sideDb: -14 + 8 * random(), seconds, sampleRate });
  const [left, right] = pcm.channels;
  const look = (...channels: Float32Array[]) => stereoOf({ sampleRate, channels } satisfies Pcm)!;
  const delay = (2 + Math.floor(198 * random())) * (random() < 0.5 ? -1 : 1);
  const some = right.map((x, n) => (n >= part.from * sampleRate && n < part.to * sampleRate ? -x : x));
  return {
    seed,
    clean: look(left, right),
    flipped: look(left, turned(right)),
    flippedPart: look(left, some),
    moved: delay > 0 ? look(left, late(right, delay)) : look(late(left, -delay), right),
    delay,
    silent: look(left, new Float32Array(left.length)),
    same: look(left, left.slice()),
  };
});

const count = (is: (one: Told) => boolean) => told.filter(is).length;
const isLate = ({ delaySamples }: StereoResult) => Math.abs(delaySamples ?? 0) >= 1.5;
const overlap = ({ invertedSpans }: StereoResult) =>
  invertedSpans.reduce(
    (sum, { startSeconds, endSeconds }) =>
      sum + Math.max(0, Math.min(endSeconds, part.to) - Math.max(startSeconds, part.from)),
    0,
  );

describe(`stereo faults in ${cases} seeded mixes`, () => {
  test('a sound mix sets nothing off: no false alarm', () => {
    const alarms = count(
      ({ clean }) =>
        clean.invertedSpans.length > 0 || isLate(clean) || clean.identical || clean.silentChannels.length > 0,
    );
    expect(alarms).toBe(0);
  });

  test('very wide mixes set nothing off either: no false alarm in 200', () => {
    let alarms = 0;
    for (let seed = 0; seed < cases; seed++) {
      const wide = stereoOf(
        seededMix(5000 + seed, { sideDb: -4 + 8 * seeded(seed)(), seconds: 3, sampleRate }),
      )!;
      if (wide.invertedSpans.length > 0 || isLate(wide) || wide.identical) alarms++;
    }
    expect(alarms).toBe(0);
  });

  test('one side upside down all through: none missed', () => {
    expect(count(({ flipped }) => (flipped.invertedShare ?? 0) < 0.95)).toBe(0);
    expect(count(({ flipped }) => flipped.invertedSpans.length !== 1)).toBe(0);
  });

  test('3 s upside down: none missed, found to half a second at either end', () => {
    const missed = count(({ flippedPart }) => overlap(flippedPart) < part.to - part.from - 1);
    expect(missed).toBe(0);
    const tooMuch = count(({ flippedPart }) =>
      flippedPart.invertedSpans.some(
        ({ startSeconds, endSeconds }) => startSeconds < part.from - 0.75 || endSeconds > part.to + 0.75,
      ),
    );
    expect(tooMuch).toBe(0);
  });

  test('one side late by 2 to 199 samples: none missed, all to a tenth of a sample', () => {
    expect(count(({ moved }) => !isLate(moved))).toBe(0);
    expect(count(({ moved, delay }) => Math.abs((moved.delaySamples ?? 0) - delay) > 0.1)).toBe(0);
  });

  test('a silent side and two equal sides: none missed', () => {
    expect(count(({ silent }) => silent.silentChannels[0] !== 1 || silent.silentChannels.length !== 1)).toBe(
      0,
    );
    expect(count(({ same }) => !same.identical)).toBe(0);
  });

  test('late and upside down at once is told as both', () => {
    const { channels } = seededMix(3, { sideDb: -10, seconds, sampleRate });
    const both = stereoOf({ sampleRate, channels: [channels[0], turned(late(channels[1], 150))] })!;
    expect(both.delaySamples).toBeCloseTo(150, 1);
    expect(both.invertedShare).toBe(1);
  });
});
