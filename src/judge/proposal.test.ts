import { expect, test } from 'vitest';
import { walkBands } from '../finish/walk-chain.ts';
import { solveWalk } from '../places/walk-solve.ts';
import { proposalOfWalk } from './proposal.ts';

test('a walk proposes its bands with the complaints that ask for each', () => {
  const stop = { trust: 1, references: [{ taps: {} }], heard: null };
  const solution = solveWalk([
    { ...stop, placeId: 'car', name: 'the car', song: { taps: { low: 1 } } },
    { ...stop, placeId: 'kitchen', name: 'the kitchen', song: { taps: { low: 1 } } },
  ]);
  const bands = walkBands(solution.curveDb);
  const proposal = proposalOfWalk({ title: 'Sunday', solution, bands, nameOf: (id) => `the ${id}` });
  expect(proposal.title).toBe('the correction of the walk “Sunday”');
  expect(proposal.bands.map(({ band }) => band)).toEqual(bands);
  expect(proposal.bands[0].words).toMatch(/^\d\.\d dB less /);
  expect(proposal.bands[0].why).toContain('the car');
  expect(proposal.target.find(({ hertz }) => hertz > 60 && hertz < 70)?.gainDb).toBeLessThan(-1);
});
