import { expect, test } from 'vitest';
import { seededMix } from '../../test/seeded-sound.ts';
import type { Pcm } from '../audio/pcm.ts';
import { changeBetween } from '../compare/change.ts';
import type { SameSong } from '../compare/change-result.ts';
import { addPart, type Chain, emptyChain, readChain } from './chain.ts';
import { ChainRunner } from './chain-runner.ts';
import { learnedChain } from './learned-chain.ts';

const quiet = (pcm: Pcm): Pcm => ({ ...pcm, channels: pcm.channels.map((x) => x.map((v) => v * 0.2)) });
const plain = { slope: '12', on: 'both', phase: 'minimum' } as const;

function through(pcm: Pcm, chain: Chain): Pcm {
  const runner = new ChainRunner(chain, pcm.sampleRate, pcm.channels.length);
  const late = runner.latencySamples;
  const out = pcm.channels.map((x) => {
    const longer = new Float32Array(x.length + late);
    longer.set(x);
    return longer;
  });
  for (let at = 0; at < out[0].length; at += 1024) runner.process(out.map((x) => x.subarray(at, at + 1024)));
  return { ...pcm, channels: out.map((x) => x.subarray(late)) };
}

async function same(a: Pcm, b: Pcm): Promise<SameSong> {
  const change = await changeBetween(a, b);
  if (!change.same) throw new Error(change.reason ?? 'unlike');
  return change.same;
}

test('brings one master near another that differs by tone and level', async () => {
  const mine = quiet(seededMix(5, { sideDb: -9, seconds: 8, sampleRate: 48_000 }));
  const made = through(
    mine,
    addPart(
      addPart(emptyChain, 'equaliser', {
        bands: [
          { ...plain, shape: 'low-shelf', hertz: 110, gainDb: 2.5, q: 0.7 },
          { ...plain, shape: 'bell', hertz: 900, gainDb: -2, q: 1 },
          { ...plain, shape: 'high-shelf', hertz: 6000, gainDb: 2, q: 0.7 },
        ],
      }),
      'trim',
      { gainDb: 2 },
    ),
  );
  const before = await same(mine, made);
  const chain = learnedChain({ ...before, truePeakDbtp: -0.3 });
  expect(readChain(JSON.parse(JSON.stringify(chain)))).toEqual(chain);
  expect(chain.parts.map(({ kind }) => kind)).toEqual(['equaliser', 'limiter']);
  const after = await same(through(mine, chain), made);
  const off = ({ tone }: SameSong) =>
    Math.max(
      ...tone.changeDb.map((db, i) =>
        tone.centresHz[i] >= 40 && tone.centresHz[i] <= 12_500 ? Math.abs(db ?? 0) : 0,
      ),
    );
  expect(off(before)).toBeGreaterThan(2);
  expect(off(after)).toBeLessThan(0.6);
  expect(Math.abs(after.gainDb)).toBeLessThan(0.3);
});

test('has nothing to say where two are alike, and turns down where the other is quieter', () => {
  const flat = { centresHz: [100, 1000, 10_000], changeDb: [0, 0, null] };
  expect(learnedChain({ tone: flat, gainDb: 0.1, truePeakDbtp: null })).toEqual(emptyChain);
  const { parts } = learnedChain({ tone: flat, gainDb: -3.456, truePeakDbtp: -1 });
  expect(parts).toMatchObject([{ kind: 'trim', settings: { gainDb: -3.46 } }]);
});

test('never drives a limiter far, nor over full scale', () => {
  const flat = { centresHz: [100, 1000], changeDb: [0, 0] };
  const [limiter] = learnedChain({ tone: flat, gainDb: 30, truePeakDbtp: 1.4 }).parts;
  expect(limiter).toMatchObject({ kind: 'limiter', settings: { gainDb: 12, ceilingDbtp: 0 } });
});
