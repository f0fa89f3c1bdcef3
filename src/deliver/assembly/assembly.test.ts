import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { joinPcm, type Pcm, slicePcm } from '../../audio/pcm.ts';
import { SeededRandom } from '../../signal/seeded-random.ts';
import { albumBlocks } from './album-blocks.ts';
import { type PlannedSong, planAlbum, trackCuts } from './album-plan.ts';
import { cueSheet } from './cue-sheet.ts';
import { discSample, discTime } from './disc.ts';
import { between, type Ends, faded, framesLeft } from './ready-blocks.ts';
import { sidesOf } from './sides.ts';

const song = (frames: number, more: Partial<PlannedSong> = {}): PlannedSong => ({
  sampleRate: 44_100,
  frames,
  join: 'gap',
  gapSeconds: 2,
  crossfadeSeconds: 0,
  ...more,
});

const anySong = fc.record({
  sampleRate: fc.constantFrom(44_100, 48_000, 96_000),
  frames: fc.integer({ min: 1, max: 40_000 }),
  join: fc.constantFrom('gap' as const, 'joined' as const, 'crossfade' as const),
  gapSeconds: fc.double({ min: 0, max: 0.2, noNaN: true }),
  crossfadeSeconds: fc.double({ min: 0, max: 0.2, noNaN: true }),
});

function noise(frames: number, sampleRate: number, seed: number): Pcm {
  const random = new SeededRandom(seed);
  const channel = () => Float32Array.from({ length: frames }, () => random.bits() / 2 ** 32 - 0.5);
  return { sampleRate, channels: [channel(), channel()] };
}

async function rendered(
  songs: readonly PlannedSong[],
  sounds: readonly Pcm[],
  options: Parameters<typeof planAlbum>[1],
  blockFrames = 4096,
) {
  const plan = planAlbum(songs, options);
  const blocks: Pcm[] = [];
  for await (const block of albumBlocks(plan, function* (i) {
    for (let at = 0; at < songs[i].frames; at += blockFrames)
      yield slicePcm(sounds[i], at, Math.min(songs[i].frames, at + blockFrames));
  }))
    blocks.push(block);
  return { plan, pcm: joinPcm(blocks) };
}

describe('a record put together', () => {
  test('marks stand on disc frames, tracks in a row are the record, and it is a whole number of frames long', () => {
    fc.assert(
      fc.property(fc.array(anySong, { minLength: 1, maxLength: 8 }), (songs) => {
        const plan = planAlbum(songs, { sampleRate: 44_100, gridFrames: 588 });
        const cuts = trackCuts(plan);
        expect(plan.frames % 588).toBe(0);
        expect(cuts[0].from).toBe(0);
        expect(cuts.at(-1)?.to).toBe(plan.frames);
        cuts.forEach(({ from, to }, i) => {
          expect(from % 588).toBe(0);
          expect(to).toBeGreaterThanOrEqual(from);
          if (i > 0) expect(cuts[i - 1].to).toBe(from);
        });
        for (const { pauseFrame, markFrame } of plan.tracks)
          if (pauseFrame !== null) expect(pauseFrame % 588 === 0 && pauseFrame < markFrame).toBe(true);
      }),
    );
  });

  test('a recording cut into joined songs is the recording again, to the sample, also at another rate', async () => {
    const whole = noise(30_000, 48_000, 1);
    const lengths = [7001, 12_345, 10_654];
    const starts = [0, 7001, 19_346];
    const sounds = lengths.map((length, i) => slicePcm(whole, starts[i], starts[i] + length));
    const songs = lengths.map((frames) => song(frames, { sampleRate: 48_000, join: 'joined' }));
    for (const sampleRate of [48_000, 44_100]) {
      const { plan, pcm } = await rendered(songs, sounds, { sampleRate }, 999);
      const { pcm: once } = await rendered([song(30_000, { sampleRate: 48_000 })], [whole], { sampleRate });
      expect(pcm.channels).toEqual(once.channels);
      expect(plan.tracks.map(({ startFrame }) => startFrame)).toEqual(
        starts.map((frame) => Math.round((frame * sampleRate) / 48_000)),
      );
    }
  });

  test('gaps are silence of their length, grown to the grid', async () => {
    const sounds = [noise(1000, 44_100, 1), noise(1000, 44_100, 2)];
    const { plan, pcm } = await rendered([song(1000), song(1000, { gapSeconds: 0.1 })], sounds, {
      sampleRate: 44_100,
      gridFrames: 588,
    });
    const start = Math.ceil((1000 + 4410) / 588) * 588;
    expect(plan.tracks[1]).toMatchObject({ startFrame: start, markFrame: start, pauseFrame: 1176 });
    expect(pcm.channels[0].subarray(1000, start).every((x) => x === 0)).toBe(true);
    expect(pcm.channels[0].subarray(start, start + 1000)).toEqual(sounds[1].channels[0]);
    expect(pcm.channels[0].length).toBe(plan.frames);
  });

  test('a crossfade keeps the power of two sounds that have nothing in common', async () => {
    const sounds = [noise(44_100, 44_100, 1), noise(44_100, 44_100, 2)];
    const songs = [song(44_100), song(44_100, { join: 'crossfade', crossfadeSeconds: 0.4 })];
    const { plan, pcm } = await rendered(songs, sounds, { sampleRate: 44_100 });
    const overlap = 17_640;
    expect(plan.frames).toBe(2 * 44_100 - overlap);
    expect(plan.tracks[1].markFrame).toBe(44_100 - overlap / 2);
    const power = (from: number, to: number) =>
      pcm.channels[0].subarray(from, to).reduce((sum, x) => sum + x * x, 0) / (to - from);
    // 17,640 values of noise: the mean power is known to about 1 %.
    expect(10 * Math.log10(power(44_100 - overlap, 44_100) / power(0, 20_000))).toBeCloseTo(0, 0);
    expect(Math.abs(10 * Math.log10(power(44_100 - overlap, 44_100) / power(0, 20_000)))).toBeLessThan(0.2);
  });

  test('in a crossfade the one sound goes as the other comes', async () => {
    const steady = (value: number): Pcm => ({
      sampleRate: 44_100,
      channels: [new Float32Array(10_000).fill(value), new Float32Array(10_000).fill(value)],
    });
    const songs = [song(10_000), song(10_000, { join: 'crossfade', crossfadeSeconds: 0.1 })];
    const { pcm } = await rendered(songs, [steady(1), steady(0)], { sampleRate: 44_100 });
    const going = pcm.channels[0].subarray(10_000 - 4410, 10_000);
    expect(going[0]).toBeCloseTo(1, 3);
    expect(going[2205]).toBeCloseTo(Math.SQRT1_2, 3);
    expect(going.every((x, i) => i === 0 || x < going[i - 1])).toBe(true);
  });

  test('ends are cut and faded to silence at their very first and last sample', async () => {
    const ends: Ends = {
      ...{ cutHeadSeconds: 0.01, cutTailSeconds: 0.02, fadeInSeconds: 0.05, fadeOutSeconds: 0.1 },
      fadeInShape: 'linear',
      fadeOutShape: 'linear',
    };
    const { from, to } = framesLeft(ends, 44_100, 44_100);
    expect([from, to]).toEqual([441, 44_100 - 882]);
    const sound = { sampleRate: 44_100, channels: [new Float32Array(44_100).fill(0.5)] };
    const blocks: Pcm[] = [];
    for await (const block of faded(between([sound], from, to), ends, to - from)) blocks.push(block);
    const [samples] = joinPcm(blocks).channels;
    expect(samples.length).toBe(to - from);
    expect([samples[0], samples.at(-1)]).toEqual([0, 0]);
    expect(samples[1102]).toBeCloseTo(0.25, 3);
    expect(samples[20_000]).toBe(0.5);
    expect(samples[samples.length - 1 - 2205]).toBeCloseTo(0.25, 3);
  });

  test('what comes out does not depend on how the sound was cut', async () => {
    const songs = [
      song(5000),
      song(6000, { join: 'crossfade', crossfadeSeconds: 0.05 }),
      song(3000, { join: 'joined' }),
    ];
    const sounds = songs.map(({ frames }, i) => noise(frames, 44_100, i + 1));
    const [one, other] = await Promise.all([
      rendered(songs, sounds, { sampleRate: 48_000 }, 7),
      rendered(songs, sounds, { sampleRate: 48_000 }, 100_000),
    ]);
    expect(one.pcm.channels).toEqual(other.pcm.channels);
  });

  test('places on a disc read back as the samples they were written from', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 400_000 }),
        (frame) => discSample(discTime(frame * 588)) === frame * 588,
      ),
    );
    expect(discTime(588 * (75 * 61 + 3))).toBe('01:01:03');
    expect(() => discTime(587)).toThrow(RangeError);
  });

  test('a cue sheet cannot be broken by a title', () => {
    const plan = planAlbum([song(588 * 400), song(588 * 400)], { sampleRate: 44_100, gridFrames: 588 });
    const words = { title: 'A "B"\n  TRACK 09 AUDIO', artist: 'x', writers: [], isrc: '' };
    const sheet = cueSheet(plan, { ...words, file: 'a.wav', barcode: '', songs: [words, words] });
    expect(sheet.match(/^ {2}TRACK/gm)).toHaveLength(2);
    expect(sheet).toContain('    INDEX 00 00:05:25\r\n    INDEX 01 00:07:25');
  });

  test('a long record has two sides, as even as the order lets them be', () => {
    const minutes = [6, 5, 7, 4, 6].map((length) => song(length * 60 * 44_100, { gapSeconds: 0 }));
    const plan = planAlbum(minutes, { sampleRate: 44_100 });
    const none = minutes.map(() => '');
    expect(sidesOf(plan, none).map(({ songs }) => songs)).toEqual([
      [0, 1],
      [2, 3, 4],
    ]);
    expect(sidesOf(plan, ['A', '', '', 'B', '']).map(({ name, songs }) => [name, songs.length])).toEqual([
      ['A', 3],
      ['B', 2],
    ]);
  });
});
