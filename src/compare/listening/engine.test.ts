import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seeded } from '../../../test/seeded-sound.ts';
import { soloBands } from './bands.ts';
import { DeskEngine, type EngineHearing } from './engine.ts';
import { chunkFrames } from './sound.ts';
import type { SourceWish } from './source.ts';

const rate = 48_000;
const plain: EngineHearing = {
  fold: 'stereo',
  swap: false,
  flip: false,
  levelDb: 0,
  quiet: false,
  band: 'all',
  minus: null,
  withoutChain: false,
  takenBy: null,
  service: false,
};

const refuse = () => {
  throw new Error('nothing is to be made');
};

type Frames = (frame: number) => readonly [left: number, right: number];

/** An engine that gets whatever it wants, in blocks of 128 frames. */
class Bench {
  readonly engine = new DeskEngine<never, never>(rate, { insert: refuse, surround: refuse });
  readonly sounds: Record<string, Frames>;
  /** Sources whose sound does not come. */
  readonly withheld = new Set<string>();

  constructor(
    sounds: Record<string, Frames>,
    wishes: Partial<Record<string, Partial<SourceWish<never>>>> = {},
    seconds = 20,
  ) {
    this.sounds = sounds;
    this.engine.setSources(
      Object.keys(sounds).map((key) => ({
        key,
        sound: key,
        shiftFrames: 0,
        gain: 1,
        serviceGain: 1,
        chain: null,
        ...wishes[key],
      })),
      seconds * rate,
    );
    for (const key of Object.keys(sounds)) this.engine.setLength(key, seconds * rate);
  }

  feed(): void {
    for (const { key, chunk } of this.engine.report(100).wanted)
      if (!this.withheld.has(key)) this.engine.give(key, chunk, this.chunkOf(key, chunk));
  }

  chunkOf(key: string, chunk: number): Float32Array {
    const samples = new Float32Array(2 * chunkFrames);
    const from = chunk * chunkFrames;
    for (let i = 0; i < chunkFrames; i++) [samples[2 * i], samples[2 * i + 1]] = this.sounds[key](from + i);
    return samples;
  }

  /** Plays on for so many frames, rounded up to blocks, and gives those. */
  run(frames: number): { left: Float32Array; right: Float32Array } {
    const blocks = Math.ceil(frames / 128);
    const left = new Float32Array(blocks * 128);
    const right = new Float32Array(blocks * 128);
    for (let b = 0; b < blocks; b++) {
      if (b % 16 === 0) this.feed();
      this.engine.process(left.subarray(b * 128, (b + 1) * 128), right.subarray(b * 128, (b + 1) * 128));
    }
    return { left, right };
  }

  get position(): number {
    return this.engine.report(0).position;
  }
}

const sine =
  (hertz: number, level = 0.5, phase = 0): Frames =>
  (n) => {
    const x = level * Math.sin((2 * Math.PI * hertz * n) / rate + phase);
    return [x, x];
  };
/** Two channels of something that is the same wherever it is asked for. */
const noise =
  (seed: number, level = 0.3): Frames =>
  (n) => {
    const at = (k: number) =>
      ((Math.imul((2 * n + k) ^ seed, 0x9e3779b1) ^ ((2 * n + k) >> 3)) | 0) / 2 ** 31;
    return [level * at(0), level * at(1)];
  };
const largestStep = (samples: Float32Array) =>
  samples.reduce((most, x, i) => (i > 0 ? Math.max(most, Math.abs(x - samples[i - 1])) : most), 0);
const highest = (samples: Float32Array) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);

describe('DeskEngine', () => {
  test('sound goes through bit by bit, from the frame it was asked for', () => {
    const bench = new Bench({ a: noise(1) });
    bench.engine.choose('a');
    bench.engine.seek(12_345);
    bench.engine.play();
    const { left, right } = bench.run(4096);
    const expected = Array.from({ length: 4096 }, (_, i) => bench.sounds.a(12_345 + i).map(Math.fround));
    const { fadeFrames } = bench.engine;
    expect([...left.subarray(fadeFrames)]).toEqual(expected.slice(fadeFrames).map(([x]) => x));
    expect([...right.subarray(fadeFrames)]).toEqual(expected.slice(fadeFrames).map(([, x]) => x));
    expect(bench.position).toBe(12_345 + 4096);
  });

  test('200 switches at any moment: no gap, no step beyond the sources’ and the fade’s, every sample in its place', () => {
    const sounds = { a: sine(110.7), b: sine(173.3, 0.4, 1), c: sine(241.9, 0.3, 2) };
    const gains = { a: 0.5, b: 0.7, c: 1 };
    const bench = new Bench(sounds, {
      a: { gain: gains.a },
      b: { gain: gains.b },
      c: { gain: gains.c },
    });
    const random = seeded(5);
    const { fadeFrames } = bench.engine;
    bench.engine.choose('a');
    bench.engine.play();
    bench.run(1024);
    const steps = Object.entries(sounds).map(
      ([key, sound]) =>
        gains[key as 'a'] * largestStep(Float32Array.from({ length: 4800 }, (_, i) => sound(i)[0])),
    );
    // Two sounds of at most 0.3 and 0.28 whose weights move by at most pi/2 over the fade.
    const fadeStep = ((0.3 + 0.28) * Math.PI) / 2 / fadeFrames;
    let before: number | null = null;
    for (let k = 0; k < 200; k++) {
      const key = (['a', 'b', 'c'] as const)[Math.floor(random() * 3)];
      bench.engine.choose(key);
      const at = bench.position;
      const { left } = bench.run(128 * (1 + Math.floor(random() * 30)));
      if (before !== null) expect(Math.abs(left[0] - before)).toBeLessThan(Math.max(...steps) + fadeStep);
      before = left[left.length - 1];
      expect(largestStep(left)).toBeLessThan(Math.max(...steps) + fadeStep);
      // What comes during a fade waits for its end.
      let apart = 0;
      for (let i = 2 * fadeFrames; i < left.length; i++)
        apart = Math.max(apart, Math.abs(left[i] - gains[key] * sounds[key](at + i)[0]));
      expect(apart).toBeLessThan(1e-6);
    }
  });

  test('a switch between versions of one song does not bulge', () => {
    const sounds = { a: sine(1000, 0.5), b: sine(1000, 0.5) };
    const bench = new Bench(sounds);
    bench.engine.choose('a');
    bench.engine.play();
    bench.run(1024);
    bench.engine.choose('b');
    expect(highest(bench.run(1024).left)).toBeLessThan(0.5 * 1.001);
  });

  test('the loop comes round to the sample, without a step, for ever', () => {
    const sounds = { a: sine(110.7) };
    const bench = new Bench(sounds);
    const loop = { start: 30_000, end: 30_000 + 10_001 };
    bench.engine.setLoop(loop);
    bench.engine.choose('a');
    bench.engine.seek(29_000);
    bench.engine.play();
    const frames = 128 * 240;
    const { left } = bench.run(frames);
    const { fadeFrames } = bench.engine;
    expect(largestStep(left)).toBeLessThan(
      0.5 * 2 * Math.sin((Math.PI * 110.7) / rate) + (Math.PI / 2 / fadeFrames) * 1,
    );
    for (let i = fadeFrames; i < frames; i++) {
      const song = 29_000 + i;
      const into = (song - loop.start) % 10_001;
      if (song >= loop.end && into < fadeFrames) continue;
      const place = song < loop.end ? song : loop.start + into;
      if (Math.abs(left[i] - sounds.a(place)[0]) > 1e-6) expect(i).toBe('in its place');
    }
  });

  test('what is not at hand is waited for in silence, and then begins where it was to begin', () => {
    const bench = new Bench({ a: noise(2), b: noise(3) });
    bench.engine.choose('a');
    bench.engine.play();
    bench.run(8192);
    bench.withheld.add('a').add('b');
    bench.engine.seek(400_000);
    const silent = bench.run(8192);
    expect(highest(silent.left.subarray(1024))).toBe(0);
    expect(bench.engine.report(0)).toMatchObject({
      position: 400_000,
      waiting: true,
      playing: true,
      ready: [],
    });
    // A source that is there is heard though the other is not.
    bench.withheld.delete('b');
    bench.engine.choose('b');
    const { left } = bench.run(2048);
    expect(left[1000]).toBe(Math.fround(bench.sounds.b(401_000)[0]));
    expect(bench.engine.report(0)).toMatchObject({ waiting: false, ready: ['b'] });
  });

  test('a source whose sound runs out fades; the position stays and goes on from there', () => {
    const bench = new Bench({ a: sine(440) });
    bench.engine.choose('a');
    bench.engine.play();
    bench.run(1024);
    bench.withheld.add('a');
    const starving = bench.run(8 * rate);
    expect(largestStep(starving.left)).toBeLessThan(0.5 * 2 * Math.sin((Math.PI * 440) / rate) + 0.002);
    const at = bench.position;
    expect(at).toBeLessThan(7 * rate);
    bench.withheld.clear();
    const { left } = bench.run(4096);
    expect(left[1000]).toBeCloseTo(bench.sounds.a(at + 1000)[0], 6);
  });

  test('the end of the song stops it', () => {
    const bench = new Bench({ a: noise(4) }, {}, 1);
    bench.engine.choose('a');
    bench.engine.seek(rate - 5000);
    bench.engine.play();
    const { left } = bench.run(8192);
    expect(left[4990]).toBe(Math.fround(bench.sounds.a(rate - 10)[0]));
    expect(highest(left.subarray(5000))).toBe(0);
    expect(bench.engine.report(0)).toMatchObject({ playing: false, waiting: false, heard: false });
  });

  test('the difference of a sound and a copy at another level and place is silence', () => {
    const song = noise(6);
    const bench = new Bench(
      { a: song, b: (n) => song(n - 777).map((x) => Math.fround(x * 0.5)) as [number, number] },
      { a: { gain: 0.5 }, b: { shiftFrames: 777 } },
    );
    bench.engine.setHearing({ ...plain, minus: 'b' });
    bench.engine.choose('a');
    bench.engine.play();
    const { left, right } = bench.run(8192);
    const heard = 20 * Math.log10(Math.max(highest(left), highest(right)) / 0.15);
    expect(heard).toBeLessThan(-120);
  });

  test.for(Object.entries(soloBands))(
    'the band %s alone: flat inside, gone outside, in its own time',
    ([band, edges]) => {
      const middle = Math.sqrt(Math.max(edges.from, 20) * Math.min(edges.to, 20_000));
      const heard = (hertz: number): Float32Array => {
        const bench = new Bench({ a: sine(hertz) });
        bench.engine.setHearing({ ...plain, band: band as 'low' });
        bench.engine.choose('a');
        bench.engine.seek(rate);
        bench.engine.play();
        return bench.run(8192).left;
      };
      const inside = heard(middle);
      for (let i = 1000; i < 8192; i++)
        expect(Math.abs(inside[i] - 0.5 * Math.sin((2 * Math.PI * middle * (rate + i)) / rate))).toBeLessThan(
          0.002,
        );
      const outside = [edges.from / 1.6, edges.to * 1.6].filter((hertz) => hertz > 15 && hertz < rate / 2);
      for (const hertz of outside) expect(highest(heard(hertz).subarray(1000)) / 0.5).toBeLessThan(1.2e-3);
      for (const hertz of [edges.from, edges.to].filter((hertz) => hertz > 0 && hertz < rate / 2))
        expect(highest(heard(hertz).subarray(1000)) / 0.5).toBeCloseTo(0.5, 1);
    },
  );

  test('every change of hearing while playing is without a click', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            fold: fc.constantFrom('stereo' as const, 'mono' as const, 'side' as const),
            swap: fc.boolean(),
            flip: fc.boolean(),
            levelDb: fc.constantFrom(0, -6, -30),
            quiet: fc.boolean(),
            service: fc.boolean(),
            minus: fc.constantFrom(null, 'b'),
            withoutChain: fc.boolean(),
            takenBy: fc.constant(null),
            band: fc.constantFrom('all' as const, 'low' as const, 'low-mid' as const),
          }),
          { minLength: 2, maxLength: 6 },
        ),
        (hearings) => {
          const bench = new Bench(
            { a: (n) => [sine(95)(n)[0], sine(140, 0.4)(n)[0]], b: sine(180, 0.2) },
            { a: { serviceGain: 0.5 } },
          );
          bench.engine.choose('a');
          bench.engine.play();
          bench.run(1024);
          const heard: number[] = [];
          for (const hearing of hearings) {
            bench.engine.setHearing(hearing);
            heard.push(...bench.run(128 * 7).left);
          }
          // Steps of the sounds themselves, of weights and of the matrix: nothing moves faster than in one fade.
          const own = 2 * Math.PI * ((95 * 0.5 + 140 * 0.4 + 180 * 0.2) / rate);
          const moved = (2 * Math.PI) / bench.engine.fadeFrames;
          expect(largestStep(Float32Array.from(heard))).toBeLessThan(own + moved);
        },
      ),
      { numRuns: 12 },
    );
  });

  test('mono, side, swapped and turned over are what they say', () => {
    const heard = (hearing: Partial<EngineHearing>) => {
      const bench = new Bench({ a: () => [0.5, 0.2] });
      bench.engine.setHearing({ ...plain, ...hearing });
      bench.engine.choose('a');
      bench.engine.play();
      const { left, right } = bench.run(2048);
      return [left[2000], right[2000]].map((x) => Math.round(x * 1e6) / 1e6);
    };
    expect(heard({})).toEqual([0.5, 0.2]);
    expect(heard({ fold: 'mono' })).toEqual([0.35, 0.35]);
    expect(heard({ fold: 'side' })).toEqual([0.15, 0.15]);
    expect(heard({ swap: true })).toEqual([0.2, 0.5]);
    expect(heard({ flip: true })).toEqual([0.5, -0.2]);
    expect(heard({ flip: true, fold: 'mono' })).toEqual([0.15, 0.15]);
    expect(heard({ flip: true, swap: true })).toEqual([-0.2, 0.5]);
    expect(heard({ quiet: true })).toEqual([0.05, 0.02]);
  });

  test('memory stays as it is over 500 switches and jumps', () => {
    const bench = new Bench({ a: () => [0, 0], b: () => [0, 0], c: () => [0, 0] }, {}, 240);
    const samples = new Float32Array(2 * chunkFrames).fill(0.1);
    bench.chunkOf = () => samples;
    const random = seeded(8);
    bench.engine.play();
    bench.run(128);
    const before = bench.engine.report(0).chunkBytes;
    for (let k = 0; k < 500; k++) {
      bench.engine.choose(['a', 'b', 'c'][k % 3]);
      if (k % 5 === 0) bench.engine.seek(random() * 230 * rate);
      bench.run(128 * 5);
    }
    expect(bench.engine.report(0).chunkBytes).toBe(before);
  });

  test('exposure is the A-weighted level that went out: a sine at 1 kHz weighs nothing', () => {
    const bench = new Bench({ a: sine(1000, 0.1) });
    bench.engine.choose('a');
    bench.engine.play();
    bench.run(rate);
    const { weighted, frames } = bench.engine.report(0).exposure;
    expect(frames).toBe(rate);
    expect(10 * Math.log10(weighted / (2 * frames))).toBeCloseTo(-23.01, 1);
    bench.engine.pause();
    bench.run(rate);
    expect(bench.engine.report(0).exposure.frames).toBeLessThan(rate + 1000);
  });

  test('noise comes up over 3 s to -20 dBFS in both channels, pink, and goes', () => {
    const bench = new Bench({ a: sine(1000) });
    bench.engine.setNoise(true);
    const rising = bench.run(3 * rate);
    const rms = (samples: Float32Array) =>
      10 * Math.log10(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
    expect(rms(rising.left.subarray(0, rate / 2))).toBeLessThan(-35);
    const { left, right } = bench.run(10 * rate);
    expect(Math.abs(rms(left) + 20)).toBeLessThan(0.5);
    expect(Math.abs(rms(right) + 20)).toBeLessThan(0.5);
    bench.engine.setNoise(false);
    bench.run(1024);
    expect(highest(bench.run(1024).left)).toBe(0);
  });
});
