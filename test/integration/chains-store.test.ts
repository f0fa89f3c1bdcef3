import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Chains } from '../../src/bench/store/chains.ts';
import { openStore } from '../../src/bench/store/database.ts';
import { Songs } from '../../src/bench/store/songs.ts';
import {
  addPart,
  beginHistory,
  bypassPart,
  type Chain,
  changePart,
  emptyChain,
  movePart,
  redo,
  removePart,
  step,
  undo,
} from '../../src/finish/chain.ts';
import { chainChanges } from '../../src/finish/chain-words.ts';
import { partKinds } from '../../src/finish/kinds.ts';
import { scratchFolder } from './server-support.ts';

/** What a person does: picks are taken round the parts that there are. */
const act = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({ do: fc.constant('add' as const), pick: fc.nat(partKinds.length - 1) }),
  },
  {
    weight: 4,
    arbitrary: fc.record({ do: fc.constant('trim' as const), pick: fc.integer({ min: -60, max: 24 }) }),
  },
  {
    weight: 6,
    arbitrary: fc.record({ do: fc.constantFrom('move', 'bypass', 'remove', 'same'), pick: fc.nat(31) }),
  },
  {
    weight: 8,
    arbitrary: fc.record({ do: fc.constantFrom('undo', 'redo', 'back', 'reopen'), pick: fc.nat(40) }),
  },
);

function changed(chain: Chain, what: string, number: number): Chain {
  const { parts } = chain;
  const pick = Math.abs(number);
  if (what === 'add' || parts.length === 0)
    return addPart(chain, partKinds[pick % partKinds.length].id, {}, pick % (parts.length + 1));
  const part = parts[pick % parts.length];
  if (what === 'trim') {
    const trim = parts.find(({ kind }) => kind === 'trim');
    return trim ? changePart(chain, trim.id, { gainDb: number }) : addPart(chain, 'trim', { gainDb: number });
  }
  if (what === 'move') return movePart(chain, part.id, (pick * 7) % parts.length);
  if (what === 'bypass') return bypassPart(chain, part.id, !part.bypassed);
  return what === 'remove' ? removePart(chain, part.id) : structuredClone(chain);
}

test('undo, redo and going back are those of a history without end, and nothing is ever lost', async () => {
  await using folder = await scratchFolder();
  let run = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(act, { minLength: 1, maxLength: 30 }), async (acts) => {
      const path = join(folder.path, `${run++}.db`);
      let store = openStore(path);
      try {
        const version = { name: 'Mix', kind: 'mix' as const, file: { sha256: 'a', bytes: 1 } };
        const { versionIds } = await new Songs(store, new Map()).add('Song', [version]);
        let chains = new Chains(store);
        const id = await chains.add(versionIds[0], null, emptyChain, []);
        let history = beginHistory(emptyChain);
        /** Every chain there ever was, by its step. */
        const ever: Chain[] = [emptyChain];
        for (const { do: what, pick } of acts) {
          const { revision } = await chains.get(id);
          if (what === 'undo') {
            await chains.undo(id, revision);
            history = undo(history);
          } else if (what === 'redo') {
            await chains.redo(id, revision);
            history = redo(history);
          } else if (what === 'reopen') {
            await store.destroy();
            store = openStore(path);
            chains = new Chains(store);
          } else {
            const next = what === 'back' ? ever[pick % ever.length] : changed(history.present, what, pick);
            await chains.change(id, revision, next);
            // What changes nothing is no step.
            if (chainChanges(history.present, next).length > 0) {
              history = step(history, next);
              ever.push(next);
            }
          }
          const now = await chains.get(id);
          expect(now.chain).toEqual(history.present);
          expect(now.undo !== null).toBe(history.past.length > 0);
          expect(now.redo !== null).toBe(history.future.length > 0);
          if (now.undo) expect(now.undo).toEqual(chainChanges(history.past.at(-1)!, history.present));
          if (now.redo) expect(now.redo).toEqual(chainChanges(history.present, history.future[0]));
        }
        const kept = await Promise.all(ever.map((_, at) => chains.stepAt(id, at)));
        expect(kept.map(({ chain }) => chain)).toEqual(ever);
        await expect(chains.stepAt(id, ever.length)).rejects.toMatchObject({ code: 'NOT_FOUND' });
      } finally {
        await store.destroy();
      }
    }),
    { seed: 31, numRuns: 40 },
  );
});

test('of two windows that saw the same, the second is told and nothing of the first is lost', async () => {
  await using folder = await scratchFolder();
  const store = openStore(join(folder.path, 'a.db'));
  const version = { name: 'Mix', kind: 'mix' as const, file: { sha256: 'a', bytes: 1 } };
  const { versionIds } = await new Songs(store, new Map()).add('Song', [version]);
  const chains = new Chains(store);
  const id = await chains.add(versionIds[0], null, emptyChain, []);
  const { revision } = await chains.get(id);
  // All at once, as many windows as one likes.
  const done = await Promise.allSettled(
    [3, 4, 5, 6].map((gainDb) => chains.change(id, revision, addPart(emptyChain, 'trim', { gainDb }))),
  );
  const refused = done.filter((each) => each.status === 'rejected');
  expect(refused).toHaveLength(3);
  for (const { reason } of refused) expect(reason).toMatchObject({ code: 'CHAIN_CONFLICT' });
  expect((await chains.steps(id)).steps).toHaveLength(2);
  for (const change of [
    chains.undo(id, revision),
    chains.redo(id, revision),
    chains.addSnapshot(id, revision, 'A'),
  ])
    await expect(change).rejects.toMatchObject({ code: 'CHAIN_CONFLICT' });
  await store.destroy();
});
