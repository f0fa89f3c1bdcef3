import { describe, expect, test } from 'vitest';
import { addPart, bypassPart, type Chain, emptyChain } from './chain.ts';
import { findDrive } from './find-drive.ts';
import { drivenTail, driveOf, planFinish, wholeChain } from './finish-plan.ts';
import type { PartKindId } from './kinds.ts';

const chainOf = (...parts: readonly [PartKindId, object?][]): Chain =>
  parts.reduce<Chain>((chain, [kind, settings]) => addPart(chain, kind, settings), emptyChain);
const kinds = ({ parts }: Chain) => parts.map(({ kind }) => kind);
const plain = { needsLimiter: true };

describe('the plan of a finishing', () => {
  test('the last limiter counts when nothing after it raises a peak', () => {
    const plan = planFinish(
      chainOf(['trim', { gainDb: 1 }], ['limiter'], ['fades', { inSeconds: 1 }], ['dither', { bits: '16' }]),
      plain,
    );
    expect([kinds(plan.head), kinds(plan.tail)]).toEqual([['trim'], ['limiter', 'fades', 'dither']]);
    expect(plan).toMatchObject({ bits: '16', decided: [] });
  });

  test('one is added when none counts, before fades and dither; never without need', () => {
    const chain = chainOf(
      ['limiter'],
      ['trim', { gainDb: 2 }],
      ['fades', { inSeconds: 1 }],
      ['dither', { bits: '20' }],
    );
    const plan = planFinish(chain, plain);
    expect(kinds(wholeChain(plan))).toEqual(['limiter', 'trim', 'limiter', 'fades', 'dither']);
    expect(plan).toMatchObject({ bits: '24', decided: ['limiter-added'], limiter: { id: 'limiter-2' } });
    expect(planFinish(chain, { needsLimiter: false })).toMatchObject({ limiter: null, decided: [] });
    const passedBy = bypassPart(chainOf(['limiter']), 'limiter-1', true);
    expect(planFinish(passedBy, plain).decided).toContain('limiter-added');
  });

  test('what rounds to no word length is dithered, unless floats are wanted', () => {
    expect(planFinish(emptyChain, { needsLimiter: false })).toMatchObject({
      bits: '24',
      decided: ['dither-added'],
    });
    expect(kinds(planFinish(emptyChain, { needsLimiter: false, bits: '32f' }).tail)).toEqual([]);
    const early = chainOf(['dither', { bits: '16' }], ['trim', { gainDb: 1 }]);
    const { decided, tail } = planFinish(early, { needsLimiter: false });
    expect(decided).toEqual(['dither-too-early', 'dither-added']);
    expect(kinds(tail)).toEqual([]);
  });

  test('storage holds what the dither makes, or is refused', () => {
    const chain = chainOf(['dither', { bits: '24' }]);
    expect(() => planFinish(chain, { needsLimiter: false, bits: '16' })).toThrow(/rounds to 24 bits/);
    expect(planFinish(chain, { needsLimiter: false, bits: '32f' }).bits).toBe('32f');
  });

  test('below its range a limiter’s gain is a trim before it, under an id of its own', () => {
    const plan = planFinish(chainOf(['limiter', { gainDb: 5 }]), plain);
    const up = drivenTail(plan.tail, 7, -2, plan.trimId);
    expect(up.parts[0].settings).toMatchObject({ gainDb: 7, ceilingDbtp: -2 });
    const down = drivenTail(plan.tail, -3.5, -2, plan.trimId);
    expect(down.parts.map(({ id }) => id)).toEqual(['loudness', 'limiter-1', 'dither-1']);
    expect(driveOf({ ...down, parts: down.parts.slice(0, 2) })).toBe(-3.5);
  });
});

describe('the drive to a loudness', () => {
  /** A limiter that gives back less the harder it works, and never more than -5 LUFS. */
  const limited = async (drive: number) => -5 - 20 * Math.log10(1 + 10 ** (-(drive - 6) / 20));

  test('is found within 0.02 LU in few renderings, up and down', async () => {
    for (const target of [-30, -14, -11, -8.3, -6.5]) {
      const found = await findDrive(target, target + 11, limited);
      expect(found?.reached).toBe(true);
      expect(Math.abs((found?.integratedLufs as number) - target)).toBeLessThanOrEqual(0.02);
      expect(found?.rounds).toBeLessThanOrEqual(7);
    }
  });

  test('says how near it came when it cannot be reached', async () => {
    const found = await findDrive(-4, 7, limited);
    expect(found).toMatchObject({ driveDb: 24, reached: false });
    expect(found?.integratedLufs).toBeLessThan(-5);
  });

  test('a sound without loudness has none', async () => {
    expect(await findDrive(-14, 0, async () => null)).toBeNull();
  });
});
