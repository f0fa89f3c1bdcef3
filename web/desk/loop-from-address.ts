import { useEffect, useEffectEvent, useRef } from 'react';
import { useSearch } from 'wouter';
import { songSeconds } from './timeline.ts';
import type { Desk } from './use-desk.ts';

/**
 * Sets the loop that an address asks for, once: `from` and `to` in the time of the version `of`, which is chosen after
 * `against`, so that one key goes back and forth between the two.
 */
export function useLoopFromAddress(desk: Desk): void {
  const wanted = new URLSearchParams(useSearch());
  const next = useRef<'against' | 'of' | 'nothing'>('against');
  const [row, against] = [wanted.get('of'), wanted.get('against')].map((id) =>
    desk.rows.find(({ versionId, aligned }) => versionId === id && aligned !== 'waiting'),
  );
  const ready = row !== undefined && against !== undefined;
  const chosen = desk.chosen?.versionId;
  const step = useEffectEvent(() => {
    if (!row || !against) return;
    if (next.current === 'against') {
      next.current = 'of';
      if (chosen !== against.versionId) return desk.choose(against.versionId);
    }
    if (next.current === 'of') {
      next.current = 'nothing';
      desk.choose(row.versionId);
      const from = Number.parseFloat(wanted.get('from') ?? '');
      const to = Number.parseFloat(wanted.get('to') ?? '');
      if (to > from) desk.setLoop({ startSeconds: songSeconds(row, from), endSeconds: songSeconds(row, to) });
    }
  });
  // biome-ignore lint/correctness/useExhaustiveDependencies: once what was chosen is chosen, the next is
  useEffect(() => {
    if (ready) step();
  }, [ready, chosen]);
}
