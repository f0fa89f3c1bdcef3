import { describe, expect, test } from 'vitest';
import { sine, throughPart } from '../../test/finish-sound.ts';
import { seeded } from '../../test/seeded-sound.ts';
import { gainChangeDb } from './compressor-curve.ts';
import { CompressorGain } from './compressor-gain.ts';

test('static curve, worked by hand', () => {
  // Threshold -20, ratio 4, corner: 12 dB over become 3 dB over, so 9 dB less.
  expect(gainChangeDb(-8, -20, 4, 0)).toBeCloseTo(-9, 12);
  expect(gainChangeDb(-20, -20, 4, 0)).toBe(0);
  expect(gainChangeDb(-40, -20, 4, 0)).toBe(0);
  // Ratio 2, knee 10 dB: at the threshold (1/2 - 1) * 5^2 / 20 = -0.625 dB; 5 dB over, the knee's end, -2.5 dB.
  expect(gainChangeDb(-20, -20, 2, 10)).toBeCloseTo(-0.625, 12);
  expect(gainChangeDb(-15, -20, 2, 10)).toBeCloseTo(-2.5, 12);
  expect(gainChangeDb(-25, -20, 2, 10)).toBe(0);
  // Ratio 20, 19 dB over: 1/20 of them stay.
  expect(gainChangeDb(-1, -20, 20, 6)).toBeCloseTo(-18.05, 12);
});

/** Level of the last 20 ms, dB of a sine's peak. */
const endLevel = (x: Float32Array) =>
  10 * Math.log10((2 * x.slice(-960).reduce((sum, v) => sum + v * v, 0)) / 960);

describe('a steady sine comes out where the curve says', () => {
  test.each(['rms', 'peak'] as const)('%s detector', (detector) => {
    for (const [levelDb, ratio, kneeDb] of [
      [-8, 4, 0],
      [-15, 2, 10],
      [-30, 4, 6],
    ]) {
      const settings = {
        thresholdDbfs: -20,
        ratio,
        kneeDb,
        detector,
        attackMs: 0.1,
        releaseMs: detector === 'peak' ? 2500 : 50,
      };
      const tone = sine(1000, 10 ** (levelDb / 20), 24000);
      const [out] = throughPart('compressor', settings, [tone]);
      expect(Math.abs(endLevel(out) - levelDb - gainChangeDb(levelDb, -20, ratio, kneeDb))).toBeLessThan(
        0.15,
      );
    }
  });
});

/** Gain over time, dB, of a tone that steps between levels; peak detector on a full-band square so that the level is exact. */
function gainOverTime(levels: readonly [number, number], frames: number, settings: object): Float64Array {
  const input = Float32Array.from(
    { length: 2 * frames },
    (_, n) => (n % 2 ? -1 : 1) * 10 ** (levels[n < frames ? 0 : 1] / 20),
  );
  const [out] = throughPart('compressor', { detector: 'peak', kneeDb: 0, ...settings }, [input]);
  return Float64Array.from(out.subarray(frames), (x, n) => 20 * Math.log10(Math.abs(x / input[frames + n])));
}

test('attack and release are time constants: 63.2 % of the way in dB (Giannoulis, Massberg and Reiss 2012)', () => {
  const settings = { thresholdDbfs: -20, ratio: 4, attackMs: 10, releaseMs: 100 };
  const attack = gainOverTime([-40, 0], 24000, settings);
  expect(attack[479]).toBeCloseTo(-15 * (1 - Math.exp(-1)), 1);
  expect(attack[23999]).toBeCloseTo(-15, 2);
  const release = gainOverTime([0, -40], 24000, settings);
  expect(release[4799]).toBeCloseTo(-15 * Math.exp(-1), 1);
});

test('release by programme: quicker after a lone peak than after steady sound', () => {
  const settings = {
    thresholdDbfs: -30,
    ratio: 4,
    kneeDb: 0,
    attackMs: 0.1,
    releaseMs: 500,
    releaseBy: 'programme',
    detector: 'peak',
  };
  const gainLater = (loudFrames: number) => {
    const begin = 24000;
    const input = Float32Array.from(
      { length: begin + 2400 },
      (_, n) => (n % 2 ? -1 : 1) * (n >= begin - loudFrames && n < begin ? 1 : 0.003),
    );
    const [out] = throughPart('compressor', settings, [input]);
    return 20 * Math.log10(Math.abs(out[begin + 2000] / input[begin + 2000]));
  };
  expect(gainLater(50)).toBeGreaterThan(gainLater(20000) + 6);
});

test('parallel: half mixed, a gain of 1/4 becomes 5/8', () => {
  const input = Float32Array.from({ length: 9600 }, (_, n) => (n % 2 ? -1 : 1));
  const settings = { thresholdDbfs: -24.0824, ratio: 2, kneeDb: 0, attackMs: 0.1, detector: 'peak' };
  const [whole] = throughPart('compressor', settings, [input]);
  const [half] = throughPart('compressor', { ...settings, mixPercent: 50 }, [input]);
  expect(Math.abs(whole[9599])).toBeCloseTo(0.25, 3);
  expect(Math.abs(half[9599])).toBeCloseTo(0.625, 3);
});

test('the side-chain filter: a bass that would be held down is not', () => {
  const bass = sine(40, 0.9, 48000);
  const settings = { thresholdDbfs: -20, ratio: 10, attackMs: 1 };
  expect(endLevel(throughPart('compressor', settings, [bass])[0])).toBeLessThan(-14);
  expect(
    endLevel(throughPart('compressor', { ...settings, sideChainHertz: 400 }, [bass])[0]),
  ).toBeGreaterThan(-1.5);
});

test('left and right are held together, mid alone leaves the side', () => {
  const loud = sine(500, 0.9, 24000);
  const soft = sine(900, 0.05, 24000);
  const settings = { thresholdDbfs: -20, ratio: 4, attackMs: 1, releaseMs: 2000 };
  const [a, b] = throughPart('compressor', settings, [loud, soft]);
  const gain = endLevel(a) - endLevel(loud);
  expect(gain).toBeLessThan(-10);
  expect(endLevel(b) - endLevel(soft)).toBeCloseTo(gain, 1);
  const [left, right] = throughPart('compressor', { ...settings, on: 'mid' }, [
    loud.map((x, n) => x + soft[n]),
    loud.map((x, n) => x - soft[n]),
  ]);
  const side = left.map((x, n) => (x - right[n]) / 2);
  expect(endLevel(side)).toBeCloseTo(endLevel(soft), 1);
});

test('three bands: only the band that is too loud is held down', () => {
  const hold = { thresholdDbfs: -30, ratio: 8, attackMs: 1, releaseMs: 500 };
  const settings = { low: hold, middle: {}, high: {} };
  const low = sine(60, 0.5, 24000);
  const high = sine(9000, 0.5, 24000);
  expect(endLevel(throughPart('multiband', settings, [low])[0])).toBeLessThan(-24);
  expect(endLevel(throughPart('multiband', settings, [high])[0])).toBeCloseTo(-6.02, 1);
});

test('the kernel and its plain twin', () => {
  const random = seeded(6);
  const rate = 48000;
  const settings = {
    thresholdDbfs: -30,
    ratio: 3,
    kneeDb: 8,
    attackMs: 2,
    releaseMs: 60,
    makeUpDb: 0,
    mixPercent: 100,
    detector: 'rms',
    releaseBy: 'programme',
  } as const;
  const gain = new CompressorGain(settings, rate);
  const share = (seconds: number) => 1 - Math.exp(-1 / (seconds * rate));
  let [power, change, crestPeak, crestPower] = [0, 0, 0, 0];
  for (let block = 0; block < 6; block++) {
    for (let i = 0; i < 1000; i++) gain.squares[i] = random() ** 8 * (block % 2 ? 1e-4 : 1);
    gain.process(1000);
    for (let i = 0; i < 1000; i++) {
      const square = gain.squares[i];
      power += (2 * square - power) * share(0.01);
      crestPower += (square - crestPower) * share(0.2);
      crestPeak = Math.max(square, crestPeak + (square - crestPeak) * share(0.2));
      const wanted = gainChangeDb(10 * Math.log10(power), -30, 3, 8);
      const release = Math.min(0.5, (share(0.06) * Math.max(1, crestPeak / crestPower)) / 2);
      change += (wanted - change) * (wanted < change ? share(0.002) : release);
      expect(gain.gains[i]).toBeCloseTo(10 ** (change / 20), 7);
    }
  }
});
