import { describe, expect, test } from 'vitest';
import { sine } from '../../test/finish-sound.ts';
import { seededMix } from '../../test/seeded-sound.ts';
import { joinPcm, type Pcm, slicePcm } from '../audio/pcm.ts';
import {
  addPart,
  beginHistory,
  bypassPart,
  type Chain,
  changePart,
  emptyChain,
  movePart,
  readChain,
  redo,
  removePart,
  step,
  undo,
} from './chain.ts';
import { ChainRunner } from './chain-runner.ts';
import { chainChanges } from './chain-words.ts';
import { renderChain, renderedRate } from './render.ts';

const invalid = expect.objectContaining({ code: 'CHAIN_INVALID' });
const some = addPart(addPart(addPart(emptyChain, 'trim', { gainDb: 2 }), 'equaliser'), 'limiter');

describe('chains are data', () => {
  test('made, read back, and never changed', () => {
    const before = structuredClone(some);
    const longer = movePart(addPart(some, 'limiter'), 'limiter-2', 0);
    expect(longer.parts.map(({ id }) => id)).toEqual(['limiter-2', 'trim-1', 'equaliser-1', 'limiter-1']);
    changePart(some, 'trim-1', { gainDb: 5 });
    removePart(some, 'trim-1');
    bypassPart(some, 'trim-1', true);
    expect(some).toEqual(before);
    expect(readChain(JSON.parse(JSON.stringify(longer)))).toEqual(longer);
  });

  test('what is left out takes its default', () => {
    const chain = readChain({
      version: 1,
      parts: [{ kind: 'limiter' }, { kind: 'limiter', settings: { gainDb: 3 } }],
    });
    expect(chain.parts.map(({ id, settings }) => [id, settings.gainDb, settings.ceilingDbtp])).toEqual([
      ['limiter-1', 0, -1],
      ['limiter-2', 3, -1],
    ]);
  });

  test.each([
    null,
    [],
    {},
    { version: 2, parts: [] },
    { version: 1, parts: 'none' },
    { version: 1, parts: [], more: 1 },
    { version: 1, parts: [{ kind: 'echo' }] },
    { version: 1, parts: [{ kind: 'trim', settings: { gainDb: 99 } }] },
    { version: 1, parts: [{ kind: 'trim', bypassed: 'yes' }] },
    {
      version: 1,
      parts: [
        { kind: 'trim', id: 'a' },
        { kind: 'trim', id: 'a' },
      ],
    },
    { version: 1, parts: [{ kind: 'equaliser', settings: { bands: [{ hertz: 5 }] } }] },
    { version: 1, parts: Array.from({ length: 33 }, () => ({ kind: 'trim' })) },
  ])('%j is refused with a code', (data) => {
    expect(() => readChain(data)).toThrow(invalid);
  });

  test('a part that is not there is told', () => {
    for (const change of [
      () => removePart(some, 'x'),
      () => movePart(some, 'trim-1', 9),
      () => changePart(some, 'trim-1', { loud: 1 }),
    ])
      expect(change).toThrow(invalid);
  });

  test('undo and redo without end', () => {
    let history = beginHistory(emptyChain);
    for (let gainDb = 1; gainDb <= 20; gainDb++)
      history = step(history, addPart(emptyChain, 'trim', { gainDb }));
    const last = history.present;
    for (let i = 0; i < 30; i++) history = undo(history);
    expect(history.present).toEqual(emptyChain);
    for (let i = 0; i < 30; i++) history = redo(history);
    expect(history.present).toEqual(last);
    expect(step(undo(history), emptyChain).future).toEqual([]);
  });

  test('the difference of two chains in words', () => {
    const after = addPart(
      movePart(
        bypassPart(
          changePart(changePart(some, 'trim-1', { gainDb: -1.5 }), 'equaliser-1', {
            bands: [{ hertz: 300, gainDb: -2 }],
          }),
          'equaliser-1',
          true,
        ),
        'limiter-1',
        0,
      ),
      'dither',
      { bits: '24' },
    );
    expect(chainChanges(some, after)).toEqual([
      'moved the limiter to number 1',
      'the trim: gain 2 dB → −1.5 dB',
      'bypassed the equaliser',
      expect.stringContaining('the equaliser: added band 1 (bell, 300 Hz, −2 dB'),
      'added the dither as number 4',
    ]);
    expect(chainChanges(after, some)).toContain('removed the dither');
    expect(chainChanges(some, some)).toEqual([]);
  });
});

async function render(chain: Chain, pcm: Pcm, cut: number): Promise<Pcm> {
  const frames = pcm.channels[0].length;
  const blocks: Pcm[] = [];
  for (let at = 0; at < frames; at += cut) blocks.push(slicePcm(pcm, at, Math.min(frames, at + cut)));
  const out: Pcm[] = [];
  for await (const block of renderChain(chain, blocks, { name: 'mix', frames })) out.push(block);
  return joinPcm(out);
}

const everything = [
  ['trim', { gainDb: 1 }],
  ['sub-filter', { hertz: 25 }],
  [
    'equaliser',
    {
      bands: [
        { hertz: 300, gainDb: -2 },
        { shape: 'high-shelf', hertz: 9000, gainDb: 2, phase: 'linear' },
      ],
    },
  ],
  ['width', { monoBelowHertz: 100 }],
  ['multiband', { low: { ratio: 2 } }],
  ['compressor', { ratio: 2 }],
  ['saturation', { mixPercent: 50 }],
  ['fades', { inSeconds: 0.01, outSeconds: 0.02, endSeconds: 0.29 }],
  ['limiter', { gainDb: 6 }],
  ['dither', { bits: '24' }],
] as const;
const full = everything.reduce((chain, [kind, settings]) => addPart(chain, kind, settings), emptyChain);

describe('rendering', () => {
  const mix = seededMix(3, { sideDb: -6, seconds: 0.3, sampleRate: 48000 });

  test('offline and live give the same samples, the latency taken out', async () => {
    const offline = await render(full, mix, 4096);
    expect(offline.channels[0].length).toBe(mix.channels[0].length);
    const runner = new ChainRunner(full, 48000, 2);
    const late = runner.latencySamples;
    const live = mix.channels.map((samples) => {
      const longer = new Float32Array(samples.length + late);
      longer.set(samples);
      return longer;
    });
    for (let at = 0; at < live[0].length; at += 128)
      runner.process(live.map((x) => x.subarray(at, at + 128)));
    expect(live.map((samples) => samples.subarray(late))).toEqual(offline.channels.map((x) => x.subarray()));
    expect(mix).toEqual(seededMix(3, { sideDb: -6, seconds: 0.3, sampleRate: 48000 }));
  });

  test('fades stand at their times, however late the parts before are', async () => {
    const { channels } = await render(full, mix, 1000);
    expect(Math.abs(channels[0][0])).toBeLessThan(1e-6);
    const end = Math.round(0.29 * 48000);
    // The limiter's and the dither's own noise is all there is.
    expect(Math.max(...channels[0].subarray(end + 10).map(Math.abs))).toBeLessThan(1e-6);
    expect(Math.max(...channels[0].subarray(end - 960, end - 480).map(Math.abs))).toBeGreaterThan(0.01);
  });

  test('a rate converter changes the rate; parts after it work there', async () => {
    const chain = addPart(
      addPart(addPart(emptyChain, 'trim', { gainDb: -6 }), 'rate', { hertz: '44100' }),
      'limiter',
    );
    const tone = { sampleRate: 48000, channels: [sine(1000, 0.5, 48000)] };
    const { sampleRate, channels } = await render(chain, tone, 5000);
    expect(renderedRate(chain, 48000)).toBe(44100);
    expect(sampleRate).toBe(44100);
    expect(channels[0].length).toBe(44100);
    const wanted = sine(1000, 0.5 * 10 ** (-6 / 20), 44100, 44100);
    for (let n = 5000; n < 40000; n += 11) expect(Math.abs(channels[0][n] - wanted[n])).toBeLessThan(1e-5);
  });

  test('samples that are no numbers are refused by name; a stop is heeded', async () => {
    const bad = { sampleRate: 48000, channels: [Float32Array.of(0, Number.NaN)] };
    await expect(render(full, bad, 10)).rejects.toMatchObject({ code: 'SOUND_NOT_NUMBERS' });
    const stopped = renderChain(
      full,
      [mix],
      { name: 'mix', frames: 1 },
      { signal: AbortSignal.abort(new Error('stop')) },
    );
    await expect(stopped.next()).rejects.toThrow('stop');
  });
});

describe('while it plays', () => {
  /** Steps larger than the sine itself makes, at the turn of a setting. */
  const largestStep = (x: Float32Array) =>
    x.slice(1).reduce((most, v, n) => Math.max(most, Math.abs(v - x[n])), 0);
  const tone = (frames: number) => sine(200, 0.5, frames);
  const ownStep = largestStep(tone(4800));

  test.each([
    ['gain', addPart(emptyChain, 'trim'), (c: Chain) => changePart(c, 'trim-1', { gainDb: -12 })],
    [
      'equaliser',
      addPart(emptyChain, 'equaliser', { bands: [{ hertz: 200, gainDb: 0 }] }),
      (c: Chain) =>
        changePart(c, 'equaliser-1', {
          bands: [
            { hertz: 200, gainDb: -12 },
            { shape: 'low-cut', hertz: 40 },
          ],
        }),
    ],
    [
      'saturation',
      addPart(emptyChain, 'saturation', { mixPercent: 0 }),
      (c: Chain) => changePart(c, 'saturation-1', { mixPercent: 100, driveDb: 6 }),
    ],
    [
      'bypass',
      addPart(emptyChain, 'equaliser', { bands: [{ hertz: 200, gainDb: -12 }] }),
      (c: Chain) => bypassPart(c, 'equaliser-1', true),
    ],
    ['a new part', emptyChain, (c: Chain) => addPart(c, 'trim', { gainDb: -6 })],
    [
      'compressor',
      addPart(emptyChain, 'compressor', { ratio: 1 }),
      (c: Chain) =>
        changePart(c, 'compressor-1', { ratio: 8, thresholdDbfs: -30, mixPercent: 60, makeUpDb: 3 }),
    ],
  ])('a change of %s makes no click and arrives', (_name, before, change) => {
    const runner = new ChainRunner(before, 48000, 1);
    const out = tone(24000);
    const changed = change(before);
    for (let at = 0; at < out.length; at += 480) {
      if (at === 9600) runner.follow(changed);
      runner.process([out.subarray(at, at + 480)]);
    }
    expect(largestStep(out)).toBeLessThan(1.4 * ownStep);
    const fresh = new ChainRunner(changed, 48000, 1);
    const wanted = tone(24000);
    fresh.process([wanted]);
    for (let n = 22000; n < 24000; n++) expect(out[n]).toBeCloseTo(wanted[n], 2);
  });
});
