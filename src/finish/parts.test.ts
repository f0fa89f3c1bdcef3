import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { throughPart } from '../../test/finish-sound.ts';
import { seeded } from '../../test/seeded-sound.ts';
import { addPart, emptyChain } from './chain.ts';
import { ChainRunner } from './chain-runner.ts';
import { type PartKindId, partKind, partKinds } from './kinds.ts';
import type { PartKind } from './part.ts';
import type { Setting, SettingFields, SettingValue, SettingValues } from './settings.ts';

const kinds = partKinds.map(({ id }) => id);
const rates = [22050, 44100, 48000, 96000, 192000] as const;

/** Any settings within their ranges, ends included. */
function anySettings(fields: SettingFields): fc.Arbitrary<SettingValues> {
  return fc.record(Object.fromEntries(Object.entries(fields).map(([name, setting]) => [name, any(setting)])));
}

function any(setting: Setting): fc.Arbitrary<SettingValue> {
  switch (setting.kind) {
    case 'number':
      return setting.whole
        ? fc.integer({ min: setting.lowest, max: setting.highest })
        : fc.oneof(
            fc.double({ min: setting.lowest, max: setting.highest, noNaN: true }),
            fc.constantFrom(setting.lowest, setting.highest, setting.default),
          );
    case 'choice':
      return fc.constantFrom(...setting.choices);
    case 'group':
      return anySettings(setting.of);
    case 'list':
      return fc.array(anySettings(setting.of), { maxLength: 3 });
  }
}

/** Everything that must be survived, by name. */
const sounds: Readonly<Record<string, (frames: number, c: number) => Float32Array>> = {
  silence: (frames) => new Float32Array(frames),
  dc: (frames) => new Float32Array(frames).fill(0.9),
  square: (frames) => Float32Array.from({ length: frames }, (_, n) => (Math.floor(n / 37) % 2 ? -1 : 1)),
  noise: (frames, c) => {
    const random = seeded(7 + c);
    return Float32Array.from({ length: frames }, () => 2 * random() - 1);
  },
  'one sample': (_, c) => Float32Array.of(c === 0 ? 0.8 : -0.3),
  'not numbers': (frames, c) =>
    Float32Array.from({ length: frames }, (_, n) =>
      n % 100 === c ? [Number.NaN, Infinity, -Infinity, 3e38][(n / 100) & 3] : Math.sin(n / 9),
    ),
};

const anySound = fc.constantFrom(...Object.keys(sounds));

function kindCalled(id: PartKindId): PartKind {
  return partKind(id) as PartKind;
}

describe.each(kinds)('%s', (id) => {
  const kind = kindCalled(id);

  test('with any settings, at any rate, no sound makes it blow up, and it comes to rest', () => {
    fc.assert(
      fc.property(
        anySettings(kind.fields),
        anySound,
        fc.constantFrom(...rates),
        fc.constantFrom(1, 2),
        (settings, name, sampleRate, channels) => {
          const input = Array.from({ length: channels }, (_, c) => sounds[name](700, c));
          // A resonance of Q 30 with 24 dB may ring up by so much; no number comes out that was not earned.
          const output = throughPart(id, settings, input, { sampleRate });
          for (const samples of output)
            for (const x of samples) if (!(Math.abs(x) < 1e12)) throw new Error(`${name} gives ${x}`);
        },
      ),
      { numRuns: 40, seed: 8 },
    );
  });

  test('what comes out does not depend on the blocks', () => {
    fc.assert(
      fc.property(
        anySettings(kind.fields),
        fc.array(fc.integer({ min: 1, max: 2500 }), { minLength: 1, maxLength: 5 }),
        (settings, blocks) => {
          const input = [sounds.noise(2600, 0), sounds.noise(2600, 1)];
          expect(throughPart(id, settings, input, { blocks })).toEqual(throughPart(id, settings, input));
        },
      ),
      { numRuns: 12, seed: 9 },
    );
  });

  test('settings out of range, unknown or no numbers are refused with a code', () => {
    for (const [name, setting] of Object.entries(kind.fields)) {
      const bad: unknown[] =
        setting.kind === 'number'
          ? [setting.lowest - 1, setting.highest + 1, Number.NaN, Infinity, 'loud', null]
          : setting.kind === 'choice'
            ? ['no such word', 3, null]
            : setting.kind === 'list'
              ? [Array.from({ length: setting.most + 1 }, () => ({})), [{ nothing: 1 }], 'none']
              : [{ nothing: 1 }, 7];
      for (const value of bad)
        expect(() => addPart(emptyChain, id, { [name]: value })).toThrow(
          expect.objectContaining({ code: 'CHAIN_INVALID' }),
        );
    }
    expect(() => addPart(emptyChain, id, { nothing: 1 })).toThrow(
      expect.objectContaining({ code: 'CHAIN_INVALID' }),
    );
  });

  test('a start over is a start', () => {
    fc.assert(
      fc.property(anySettings(kind.fields), (settings) => {
        const runner = new ChainRunner(addPart(emptyChain, id, settings), 48000, 2);
        const play = () => {
          const block = [sounds.noise(600, 2), sounds.noise(600, 3)];
          runner.process(block);
          return block;
        };
        const first = play();
        runner.reset();
        expect(play()).toEqual(first);
      }),
      { numRuns: 6, seed: 10 },
    );
  });

  test('comes to rest after the tail that it tells', () => {
    fc.assert(
      fc.property(anySettings(kind.fields), (settings) => {
        if (id === 'dither') return;
        const runner = new ChainRunner(addPart(emptyChain, id, settings), 22050, 2);
        // The slowest bells ring for minutes; they are told, and left alone here.
        if (runner.tailSamples > 22050 * 12) return;
        runner.process([sounds.noise(600, 4), sounds.noise(600, 5)]);
        const tail = Array.from({ length: 2 }, () => new Float32Array(runner.tailSamples + 300));
        runner.process(tail);
        for (const samples of tail)
          for (const x of samples.subarray(-300)) if (Math.abs(x) > 1e-6) throw new Error(`still ${x}`);
      }),
      { numRuns: 15, seed: 11 },
    );
  });
});

describe('neutral settings pass every sample as it is', () => {
  const neutral: readonly (readonly [PartKindId, object])[] = [
    ['trim', {}],
    ['sub-filter', { hertz: 0 }],
    ['equaliser', {}],
    ['equaliser', { bands: [{ shape: 'bell' }, { shape: 'tilt' }, { shape: 'low-shelf', on: 'side' }] }],
    ['equaliser', { bands: [{ phase: 'linear' }, { phase: 'linear', on: 'mid' }] }],
    ['width', {}],
    ['multiband', {}],
    ['compressor', {}],
    ['compressor', { ratio: 10, mixPercent: 0, makeUpDb: 6 }],
    ['saturation', {}],
    ['saturation', { driveDb: 12, mixPercent: 0 }],
    ['rate', {}],
    ['fades', {}],
    ['dither', {}],
    // Nothing to hold down.
    ['limiter', { ceilingDbtp: 0 }],
  ];
  test.each(neutral)('%s %o', (id, settings) => {
    const kind = kindCalled(id);
    const chain = addPart(emptyChain, id, settings);
    if (id !== 'limiter') expect(kind.isNeutral(chain.parts[0].settings)).toBe(true);
    for (const channels of [1, 2]) {
      const input = Array.from({ length: channels }, (_, c) => sounds.noise(1500, c).map((x) => 0.2 * x));
      expect(throughPart(id, settings, input, { blocks: [128, 77] })).toEqual(input);
    }
  });
});

test('a chain is refused outside its rates and for more than two channels', () => {
  for (const [rate, channels] of [
    [16000, 2],
    [384000, 2],
    [48000, 3],
    [48000, 0],
  ])
    expect(() => new ChainRunner(emptyChain, rate, channels)).toThrow(
      expect.objectContaining({ code: 'CHAIN_UNSUITABLE' }),
    );
});
