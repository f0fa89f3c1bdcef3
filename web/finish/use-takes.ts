import { useQueries } from '@tanstack/react-query';
import { useEffect, useMemo, useRef } from 'react';
import type { Chain } from '../../src/finish/chain.ts';
import { loudnessQuery, type Span } from '../api/chain-queries.ts';
import type { ChainsPlayer, Take } from './chains-player.ts';

/** A chain that can be heard, under its name. */
export interface Hearable {
  readonly id: string;
  readonly name: string;
  /** As it is heard. */
  readonly chain: Chain;
  /** As it was last kept: what its loudness is asked for, so that a drag asks once. */
  readonly kept: Chain;
}

export interface Takes {
  readonly ready: boolean;
  /** Some level is being worked out anew; the one before holds until then. */
  readonly pending: boolean;
  readonly error: Error | null;
  /** Loudness through the chain that is heard, and of the version itself, LUFS. */
  readonly heardLufs: number | null;
  readonly sourceLufs: number | null;
  retry(): void;
}

/** Gives the player every chain that can be heard, at equal loudness on `span` (null: the whole song) while `matching`. */
export function useTakes(
  player: ChainsPlayer,
  versionId: string,
  hearables: readonly Hearable[],
  heard: string,
  span: Span | null,
  matching: boolean,
): Takes {
  const answers = useQueries({
    queries: hearables.map(({ kept }) => loudnessQuery(versionId, kept, span)),
  });
  /** What was known last of each: holds while a changed chain is measured. */
  const known = useRef(new Map<string, number | null>());
  hearables.forEach(({ id }, i) => {
    const data = answers[i]?.data;
    if (data) known.current.set(id, data.integratedLufs);
  });
  const sourceLufs = answers.find(({ data }) => data)?.data?.sourceLufs ?? null;
  const levels = hearables.map(({ id }) => known.current.get(id) ?? null);
  const error = answers.find((answer) => answer.error)?.error ?? null;
  const ready = !matching || error !== null || hearables.some(({ id }) => known.current.has(id));

  const heardLevels = [sourceLufs, ...levels].filter((level) => level !== null);
  const quietest = heardLevels.length === 0 ? 0 : Math.min(...heardLevels);
  const gain = (level: number | null) =>
    // One whose level is not known yet must not come in louder than the others.
    !matching
      ? 0
      : level === null
        ? Math.min(0, quietest - Math.max(quietest, ...heardLevels))
        : quietest - level;
  const gains = levels.map(gain).join(' ');
  const dryGainDb = gain(sourceLufs);
  const takes = useMemo<Take[]>(() => {
    const each = gains.split(' ').map(Number);
    return hearables.map(({ id, chain }, i) => ({ id, chain, gainDb: each[i] ?? 0, dryGainDb }));
  }, [hearables, gains, dryGainDb]);
  useEffect(() => {
    if (ready) player.setTakes(takes);
  }, [player, takes, ready]);
  useEffect(() => {
    if (ready) player.hear(heard);
  }, [player, heard, ready]);

  return {
    ready,
    pending: answers.some(({ isFetching }) => isFetching),
    error,
    heardLufs: levels[hearables.findIndex(({ id }) => id === heard)] ?? null,
    sourceLufs,
    retry: () => {
      for (const answer of answers) if (answer.error) void answer.refetch();
    },
  };
}
