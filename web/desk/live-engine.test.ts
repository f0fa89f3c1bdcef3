import { describe, expect, test } from 'vitest';
import { DeskEngine, type EngineHearing } from '../../src/compare/listening/engine.ts';
import { chunkFrames } from '../../src/compare/listening/sound.ts';
import type { SourceWish } from '../../src/compare/listening/source.ts';
import { addPart, bypassPart, type Chain, changePart, emptyChain } from '../../src/finish/chain.ts';
import type { PartKindId } from '../../src/finish/kinds.ts';
import { renderChain } from '../../src/finish/render.ts';
import { builtInPlaces } from '../../src/places/built-in-places.ts';
import { PlaceProcessor, type PlaceSettings, placeFilters } from '../../src/places/place-processor.ts';
import { seeded, seededMix } from '../../test/seeded-sound.ts';
import { liveMakers, type PreparedPlace } from './live-makers.ts';

const rate = 48_000;
const seconds = 6;
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
const mix = seededMix(4, { sideDb: -9, seconds, sampleRate: rate });
const chainOf = (...parts: readonly (readonly [PartKindId, object])[]) =>
  parts.reduce<Chain>((made, [kind, settings]) => addPart(made, kind, settings), emptyChain);
const linear = chainOf(['equaliser', { bands: [{ shape: 'bell', hertz: 900, gainDb: 5, phase: 'linear' }] }]);
const warm = chainOf(['trim', { gainDb: -3 }], ['saturation', { mixPercent: 60 }]);
const full = chainOf(
  ['sub-filter', { hertz: 25 }],
  ['equaliser', { bands: [{ shape: 'high-shelf', hertz: 6000, gainDb: 3 }] }],
  ['compressor', { ratio: 3, thresholdDbfs: -24, releaseBy: 'programme' }],
  ['saturation', { mixPercent: 50 }],
  ['limiter', { gainDb: 6 }],
);
const place = (id: string) => builtInPlaces.find((each) => each.id === id)!;
const settings: PlaceSettings = {
  fullScaleDb: 80,
  playedOn: 'headphones',
  monitorFullScaleDb: null,
  noise: false,
};
const prepared = (id: string, more: Partial<PlaceSettings> = {}): PreparedPlace => {
  const own = { ...settings, ...more };
  return { place: place(id), settings: own, filters: placeFilters(place(id), own, rate) };
};
async function offline(chain: Chain): Promise<readonly Float32Array[]> {
  const out = [new Float32Array(seconds * rate), new Float32Array(seconds * rate)];
  let at = 0;
  for await (const { channels } of renderChain(chain, [mix], { name: 'the mix', frames: seconds * rate })) {
    channels.forEach((samples, c) => {
      out[c].set(samples, at);
    });
    at += channels[0].length;
  }
  return out;
}
/** As a place makes it of this, in time with it. */
function inPlace({ place: where, settings: how }: PreparedPlace, [left, right]: readonly Float32Array[]) {
  const late = 256;
  const longer = [left, right].map((samples) => {
    const more = new Float32Array(samples.length + late);
    more.set(samples);
    return more;
  });
  const out = longer.map((samples) => new Float32Array(samples.length));
  new PlaceProcessor(where, how, rate).process(longer[0], longer[1], out[0], out[1]);
  return out.map((samples) => samples.subarray(late));
}

/** An engine with the mix under several names, played in blocks of seeded sizes. */
class Bench {
  readonly engine = new DeskEngine(rate, liveMakers(rate));
  readonly #random = seeded(2);
  #wishes: readonly SourceWish<Chain>[] = [];

  constructor(chains: Readonly<Record<string, Chain | null>>) {
    this.set(chains);
    this.engine.setLength('mix', seconds * rate);
    this.engine.setHearing(plain);
  }

  set(chains: Readonly<Record<string, Chain | null>>, gains: Readonly<Record<string, number>> = {}): void {
    this.#wishes = Object.entries(chains).map(([key, chain]) => ({
      key,
      sound: 'mix',
      shiftFrames: 0,
      gain: gains[key] ?? 1,
      serviceGain: 1,
      chain: chain && { settings: chain, dryGain: gains[`${key} dry`] ?? 1 },
    }));
    this.engine.setSources(this.#wishes, seconds * rate);
  }

  /** What comes out for so many frames. */
  run(frames: number): readonly [Float32Array, Float32Array] {
    const out = [new Float32Array(frames), new Float32Array(frames)] as const;
    for (let at = 0; at < frames; ) {
      for (const { chunk } of this.engine.report(100).wanted) this.#give(chunk);
      const count = Math.min(frames - at, 1 + Math.floor(400 * this.#random()));
      this.engine.process(out[0].subarray(at, at + count), out[1].subarray(at, at + count));
      at += count;
    }
    return out;
  }

  #give(chunk: number): void {
    const samples = new Float32Array(2 * chunkFrames);
    for (let i = 0; i < chunkFrames; i++)
      for (const c of [0, 1]) samples[2 * i + c] = mix.channels[c][chunk * chunkFrames + i] ?? 0;
    this.engine.give('mix', chunk, samples);
  }

  get position(): number {
    return this.engine.report(0).position;
  }

  /** Plays from a frame on; gives the frame of the output at which that frame is heard. */
  begin(key: string, at = 0): { readonly out: readonly Float32Array[]; readonly from: number } {
    this.engine.choose(key);
    this.engine.seek(at);
    this.engine.play();
    const out = this.run(2 * rate);
    return { out, from: out[0].length - (this.position - at) };
  }
}
/** Largest distance of what came out from what should have, over [from, to) of the song; `song` is the song's frame at `out`'s start. */
function apart(
  out: readonly Float32Array[],
  expected: readonly Float32Array[],
  song: number,
  from: number,
  to: number,
  gain = 1,
): number {
  let most = 0;
  for (const [c, samples] of out.entries())
    for (let i = from; i < to; i++)
      most = Math.max(most, Math.abs(samples[i - song] - gain * expected[c][i]));
  return most;
}
const largestStep = (samples: Float32Array) =>
  samples.reduce((most, x, i) => (i > 0 ? Math.max(most, Math.abs(x - samples[i - 1])) : most), 0);
const highest = (samples: Float32Array) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
const fade = 480;
/** At the song's beginning the desk fades in over 10 ms before a place hears it. */
const faded = mix.channels.map((samples) =>
  samples.map((x, i) => (i < fade ? x * Math.sin(((i + 0.5) / fade) * (Math.PI / 2)) : x)),
);

describe('chains, live', () => {
  test('from the song’s beginning they are what is rendered offline, in time, however the sound is cut', async () => {
    for (const chain of [full, linear]) {
      const bench = new Bench({ a: chain });
      const { out, from } = bench.begin('a');
      const expected = await offline(chain);
      expect(highest(expected[0])).toBeGreaterThan(0.1);
      expect(apart(out, expected, -from, fade, rate)).toBeLessThan(1e-6);
      expect(bench.engine.report(0).chainFrames).toBeGreaterThan(100);
    }
  });

  test('200 switches between chains of different latency and none: no gap, no step, every sample in its place', async () => {
    const sounds: Record<string, readonly Float32Array[]> = {
      dry: mix.channels,
      linear: await offline(linear),
      warm: await offline(warm),
    };
    const bench = new Bench({ dry: null, linear, warm });
    const random = seeded(7);
    const loop = { start: rate, end: 5 * rate };
    bench.engine.setLoop(loop);
    bench.begin('linear', rate);
    const ownStep = Math.max(...Object.values(sounds).map(([left]) => largestStep(left)));
    const loudest = Math.max(...Object.values(sounds).map(([left]) => highest(left)));
    let before: number | null = null;
    let [fading, arrived] = [0, 0];
    let here = 'linear';
    for (let k = 0; k < 200; k++) {
      const key = (['dry', 'linear', 'warm'] as const)[Math.floor(random() * 3)];
      bench.engine.choose(key);
      const frames = 1200 + Math.floor(random() * 1500);
      const out = bench.run(frames);
      const end = bench.position;
      // No two samples further apart than the sounds' own and the fade's.
      for (const step of [largestStep(out[0]), before === null ? 0 : Math.abs(out[0][0] - before)])
        expect(step).toBeLessThan(ownStep + (2 * loudest * Math.PI) / 2 / fade);
      before = out[0][frames - 1];
      expect(highest(out[0])).toBeGreaterThan(0.001);
      expect(bench.engine.report(0).waiting).toBe(false);
      // Each frame is one of the three at its moment, but for fades; a press during one waits for its end.
      for (let i = 0; i < frames; i++) {
        const passed = end - frames + i;
        const song = passed < loop.start ? passed + loop.end - loop.start : passed;
        const found = Object.entries(sounds).find(([, sound]) =>
          out.every((samples, c) => Math.abs(samples[i] - sound[c][song]) < 1e-6),
        );
        fading = found ? 0 : fading + 1;
        if (found) here = found[0];
        if (fading > 2 * fade) expect({ k, key, i }).toBe('in its place');
      }
      if (here === key) arrived++;
    }
    // The others were chosen while another chain still caught up, and pressed away again.
    expect(arrived).toBeGreaterThan(120);
  });

  test('going back to a chain that was heard is at once: within two fades', async () => {
    const expected = await offline(linear);
    const bench = new Bench({ dry: null, linear });
    bench.begin('linear');
    for (const key of ['dry', 'linear', 'dry', 'linear']) {
      bench.engine.choose(key);
      const out = bench.run(6000);
      const song = bench.position - 6000;
      const sound = key === 'dry' ? mix.channels : expected;
      expect(apart(out, sound, song, song + 2 * fade + 400, song + 6000), key).toBeLessThan(1e-6);
    }
  });

  test('a jump begins the chain a second early, so that it has settled', async () => {
    const expected = await offline(full);
    const bench = new Bench({ a: full });
    const { out, from } = bench.begin('a', 3 * rate);
    const most = apart(out, expected, 3 * rate - from, 3 * rate + fade, 4 * rate);
    expect(20 * Math.log10(most / highest(expected[0]))).toBeLessThan(-70);
  });

  test('over the loop’s seam there is no gap, and the second time round is the first', async () => {
    const expected = await offline(linear);
    const bench = new Bench({ a: linear });
    const loop = { start: rate, end: 2 * rate + 777 };
    bench.engine.setLoop(loop);
    bench.engine.choose('a');
    bench.engine.seek(loop.start);
    bench.engine.play();
    bench.run(rate);
    for (let round = 0; round < 3; round++) {
      const out = bench.run(rate);
      const end = bench.position;
      for (let i = 0; i < rate; i++) {
        let song = end - rate + i;
        if (song < loop.start) song += loop.end - loop.start;
        const seam = song - loop.start;
        if (seam >= 0 && seam < fade + 1) continue;
        if (Math.abs(out[0][i] - expected[0][song]) > 1e-6) expect({ round, i, song }).toBe('in its place');
      }
      expect(largestStep(out[0])).toBeLessThan(largestStep(expected[0]) + 0.01);
    }
  });

  test('settings move without a click, and a part that makes it later does not move it in time', async () => {
    const base = chainOf(['trim', {}], ['equaliser', { bands: [{ hertz: 300, gainDb: 0 }] }]);
    const bench = new Bench({ a: base });
    bench.begin('a');
    const heard: Float32Array[] = [];
    let chain = base;
    const change = (next: Chain) => {
      chain = next;
      bench.set({ a: chain });
      heard.push(bench.run(12_000)[0]);
    };
    change(changePart(chain, 'trim-1', { gainDb: -12 }));
    change(changePart(chain, 'equaliser-1', { bands: [{ hertz: 300, gainDb: 9 }] }));
    change(bypassPart(chain, 'equaliser-1', true));
    change(changePart(chain, 'trim-1', { gainDb: 0 }));
    change(addPart(chain, 'equaliser', { bands: [{ shape: 'tilt', gainDb: 1, phase: 'linear' }] }));
    const limit = largestStep(mix.channels[0].map((x) => 2 * x)) + (2 * highest(mix.channels[0])) / fade;
    for (const samples of heard) expect(largestStep(samples)).toBeLessThan(limit);
    expect(bench.engine.report(0).chainFrames).toBe(5120);
    const expected = await offline(chain);
    const out = bench.run(2000);
    const end = bench.position;
    expect(apart(out, expected, end - 2000, end - 2000, end)).toBeLessThan(1e-5);
  });

  test('without its chain it is the sound itself, at its own gain; what a part takes away and what it leaves add up', async () => {
    const bench = new Bench({ a: warm });
    bench.set({ a: warm }, { a: 0.5, 'a dry': 0.25 });
    const { out, from } = bench.begin('a');
    expect(apart(out, await offline(warm), -from, fade, rate, 0.5)).toBeLessThan(1e-6);
    bench.engine.setHearing({ ...plain, withoutChain: true });
    const dry = bench.run(4000);
    expect(apart(dry, mix.channels, bench.position - 4000, bench.position - 2000, bench.position, 0.25)).toBe(
      0,
    );
    bench.engine.setHearing({ ...plain, takenBy: 'saturation-1' });
    bench.run(8000);
    const taken = bench.run(4000);
    const at = bench.position - 4000;
    const input = await offline(chainOf(['trim', { gainDb: -3 }]));
    const output = await offline(warm);
    const difference = input.map((samples, c) => samples.map((x, i) => x - output[c][i]));
    expect(highest(difference[0])).toBeGreaterThan(0.01);
    expect(apart(taken, difference, at, at, at + 4000, 0.5)).toBeLessThan(1e-6);
  });
});

describe('places, live', () => {
  test.for(['phone', 'car-110', 'closed-headphones'])(
    'in %s it is what is rendered offline, however the sound is cut',
    (id) => {
      const where = prepared(id, { noise: true });
      const bench = new Bench({ a: null });
      bench.engine.setPlace(where, 0.5);
      const { out, from } = bench.begin('a');
      const expected = inPlace(where, faded);
      expect(highest(expected[0])).toBeGreaterThan(0.01);
      expect(apart(out, expected, -from, 256 + fade, rate, 0.5)).toBeLessThan(1e-6);
    },
  );

  test('going into a place and out of it moves nothing in time, and makes no gap', () => {
    const where = prepared('living-room');
    const expected = inPlace(where, mix.channels);
    const bench = new Bench({ a: null });
    bench.begin('a');
    const steps = [...mix.channels, ...expected].map(largestStep);
    const limit = Math.max(...steps) + (2 * highest(mix.channels[0])) / fade;
    for (const live of [where, null, where, null]) {
      bench.engine.setPlace(live, 1);
      const out = bench.run(12_000);
      const end = bench.position;
      expect(largestStep(out[0])).toBeLessThan(limit);
      const sound = live ? expected : mix.channels;
      expect(apart(out, sound, end - 12_000, end - 12_000 + 2000, end)).toBeLessThan(1e-6);
    }
  });

  test('it has settled when a jump is heard, and nothing of before is left after a pause', () => {
    const where = prepared('living-room');
    const expected = inPlace(where, mix.channels);
    const bench = new Bench({ a: null });
    bench.engine.setPlace(where, 1);
    const { out, from } = bench.begin('a', 2 * rate);
    expect(apart(out, expected, 2 * rate - from, 2 * rate + fade, 3 * rate)).toBeLessThan(1e-6);
    // Nothing of its run-up is heard.
    expect(highest(out[0].subarray(0, from))).toBe(0);
    bench.engine.pause();
    bench.run(4000);
    expect(highest(bench.run(2000)[0])).toBe(0);
    expect(bench.engine.report(0).heard).toBe(false);
    bench.engine.seek(4 * rate);
    bench.engine.play();
    const again = bench.run(8000);
    const end = bench.position;
    expect(apart(again, expected, end - 8000, 4 * rate + fade, end)).toBeLessThan(1e-6);
    // The song's beginning has no run-up that could wash the past out.
    bench.engine.pause();
    bench.run(4000);
    const anew = bench.begin('a');
    expect(apart(anew.out, inPlace(where, faded), -anew.from, 256 + fade, rate)).toBeLessThan(1e-6);
  });

  test('a level of its own moves without a click', () => {
    const bench = new Bench({ a: null });
    bench.engine.setPlace(prepared('studio'), 1);
    bench.begin('a');
    bench.engine.setPlaceGain(0.25);
    const out = bench.run(4000);
    expect(largestStep(out[0])).toBeLessThan(largestStep(mix.channels[0]) + highest(mix.channels[0]) / fade);
    expect(highest(out[0].subarray(1000))).toBeLessThan(0.3);
  });
});
