import { execFileSync } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { Resampler } from '../../src/signal/resampler.ts';
import { outside } from '../outside.ts';
import { seeded } from '../seeded-sound.ts';

const libsamplerate = outside('sndfile-resample');
const sox = outside('sox');

/** Converters of others, each at its best. */
const others = [
  {
    name: 'libsamplerate',
    // Measured: -136.8 to -156.5.
    withinDb: -130,
    found: libsamplerate,
    run: (input: string, output: string, rate: number) =>
      execFileSync('sndfile-resample', ['-to', String(rate), '-c', '0', '--no-normalize', input, output]),
  },
  {
    name: 'sox rate -v',
    // Measured: -87.1 to -145; what is left is its own, for ours is within -150 dB of the ideal sine (resampler.test.ts).
    withinDb: -85,
    found: sox,
    run: (input: string, output: string, rate: number) =>
      execFileSync('sox', [input, '-e', 'float', '-b', '32', output, 'rate', '-v', String(rate)]),
  },
];

const conversions: readonly (readonly [number, number])[] = [
  [44_100, 48_000],
  [48_000, 44_100],
  [48_000, 96_000],
  [96_000, 48_000],
  [88_200, 48_000],
  [22_050, 48_000],
  [192_000, 44_100],
];

/** Everything below 0.85 of half the lower rate: there all converters must agree. */
const signals: Record<string, (from: number, to: number) => Float32Array> = {
  sines: (from, to) => {
    const top = 0.85 * (Math.min(from, to) / 2);
    const shares = [0.003, 0.02, 0.1, 0.31, 0.62, 0.85, 1];
    return Float32Array.from({ length: from }, (_, n) =>
      shares.reduce((sum, share, k) => sum + 0.1 * Math.sin((2 * Math.PI * share * top * n) / from + k), 0),
    );
  },
  'a sweep': (from, to) => {
    const [low, top, seconds] = [20, 0.85 * (Math.min(from, to) / 2), 1];
    const slope = Math.log(top / low) / seconds;
    return Float32Array.from(
      { length: from },
      (_, n) => 0.5 * Math.sin((2 * Math.PI * low * (Math.exp((slope * n) / from) - 1)) / slope),
    );
  },
  // 400 partials at random: noise without anything where the converters' slopes differ.
  noise: (from, to) => {
    const random = seeded(from + to);
    const top = 0.85 * (Math.min(from, to) / 2);
    const output = new Float64Array(from);
    for (let k = 0; k < 400; k++) {
      const step = (2 * Math.PI * top * random()) / from;
      const phase = 2 * Math.PI * random();
      for (let n = 0; n < from; n++) output[n] += 0.008 * Math.sin(step * n + phase);
    }
    return Float32Array.from(output);
  },
};

function ours(from: number, to: number, input: Float32Array): Float32Array {
  const resampler = new Resampler({ from, to, channels: 1 });
  const [head, tail] = [resampler.push([input])[0], resampler.finish()[0]];
  const whole = new Float32Array(head.length + tail.length);
  whole.set(head);
  whole.set(tail, head.length);
  return whole;
}

describe.each(others)('rate conversion against $name', ({ found, run, withinDb }) => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'everyroom-resample-'));
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  test.skipIf(!found).for(conversions)(
    '%i to %i Hz: sines, sweep and noise are the same',
    async ([from, to]) => {
      for (const [what, make] of Object.entries(signals)) {
        const input = make(from, to);
        const [before, after] = [join(folder, 'in.wav'), join(folder, 'out.wav')];
        await writeWav(before, { sampleRate: from, channels: [input] }, { sampleFormat: 'f32' });
        run(before, after, to);
        const { pcm } = await readSound(after);
        const theirs = pcm.channels[0];
        const own = ours(from, to, input);
        expect(Math.abs(own.length - theirs.length)).toBeLessThanOrEqual(1);
        // Near the ends the converters see different silence.
        const margin = Math.round(to / 20);
        let [difference, signal] = [0, 0];
        for (let n = margin; n < to - margin; n++) {
          difference += (own[n] - theirs[n]) ** 2;
          signal += own[n] ** 2;
        }
        expect(10 * Math.log10(difference / signal), what).toBeLessThan(withinDb);
      }
    },
  );
});
