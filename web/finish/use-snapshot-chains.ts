import { useQueries } from '@tanstack/react-query';
import { useMemo } from 'react';
import type { Chain } from '../../src/finish/chain.ts';
import type { ChainDetail } from '../../src/server/chains-api.ts';
import { stepQuery } from '../api/chain-queries.ts';
import type { Hearable } from './use-takes.ts';

/** The named snapshots of a chain as they can be heard; those that are not here yet are left out. */
export function useSnapshotChains({ id, snapshots }: ChainDetail): Hearable[] {
  const steps = useQueries({ queries: snapshots.map(({ step }) => stepQuery(id, step)) });
  const here = steps.map(({ data }) => data?.step ?? '').join(' ');
  // biome-ignore lint/correctness/useExhaustiveDependencies: a step never changes; `here` says which are known
  return useMemo(
    () =>
      snapshots.flatMap((snapshot, i) => {
        const data = steps[i]?.data;
        if (!data) return [];
        const chain = data.chain as Chain;
        return [{ id: snapshot.id, name: `“${snapshot.name}”`, chain, kept: chain }];
      }),
    [snapshots, here],
  );
}
