import { useQueryClient } from '@tanstack/react-query';
import { useEffect, useEffectEvent, useRef, useState } from 'react';
import type { Chain } from '../../src/finish/chain.ts';
import type { ChainDetail } from '../../src/server/chains-api.ts';
import { keys } from '../api/cache.ts';
import { changeChain, moveChain, returnTo } from '../api/chain-queries.ts';
import { ApiFailure } from '../api/client.ts';

/** A change is kept this long after the last of a row of them: one drag is one step. */
const restMilliseconds = 350;

/** What was changed here and is not kept yet. */
interface Draft {
  readonly chain: Chain;
  /** The revision it was made from: when the chain has moved on elsewhere, keeping it fails and is said. */
  readonly revision: number;
}

export interface EditedChain {
  readonly detail: ChainDetail;
  /** As it is heard and shown: with what is not kept yet. */
  readonly chain: Chain;
  /** 'kept': all of it is on the disk. */
  readonly state: 'kept' | 'keeping' | 'failed';
  /** Why the last change was not kept; null when all is well. */
  readonly trouble: string | null;
  /** What was changed here while another window was first; null without. */
  readonly lost: Chain | null;
  edit(chain: Chain): void;
  /** Keeps what is not kept yet, now. */
  keep(): Promise<boolean>;
  undo(): void;
  redo(): void;
  goBack(step: number): void;
  /** Any other change: given the revision that it is made from. */
  act(change: (revision: number) => Promise<ChainDetail>): Promise<boolean>;
  /** Makes what was lost here the next step after all. */
  insist(): void;
  /** Leaves what was lost, and what went wrong, behind. */
  forget(): void;
}

/** One chain as it is worked on: what is done is heard at once, kept a moment later, and never overwrites another window's. */
export function useEditedChain(detail: ChainDetail): EditedChain {
  const queries = useQueryClient();
  const [, draw] = useState(0);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<string | null>(null);
  const [lost, setLost] = useState<Chain | null>(null);
  const draft = useRef<Draft | null>(null);
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined);
  /** Requests go one after the other: each names the revision that the one before led to. */
  const line = useRef<Promise<unknown>>(Promise.resolve());
  const seen = useRef(detail);
  // An answer that was overtaken by a newer one must not take the page back.
  if (detail.revision >= seen.current.revision) seen.current = detail;

  const setDraft = (next: Draft | null) => {
    draft.current = next;
    draw((n) => n + 1);
  };

  const take = (next: ChainDetail) => {
    seen.current = next;
    queries.setQueryData(keys.chain(next.id), next);
    void queries.invalidateQueries({ queryKey: keys.chains(next.songId) });
  };

  const inLine = (work: () => Promise<void>): Promise<boolean> => {
    const done = line.current.then(async () => {
      setBusy(true);
      try {
        await work();
        setTrouble(null);
        return true;
      } catch (error) {
        setTrouble(error instanceof Error ? error.message : String(error));
        if (error instanceof ApiFailure && error.code === 'CHAIN_CONFLICT') {
          if (draft.current) setLost(draft.current.chain);
          setDraft(null);
          await queries.refetchQueries({ queryKey: keys.chain(detail.id) });
        }
        return false;
      } finally {
        setBusy(false);
      }
    });
    line.current = done;
    return done;
  };

  const keep = (): Promise<boolean> => {
    clearTimeout(timer.current);
    return inLine(async () => {
      const kept = draft.current;
      if (!kept) return;
      const next = await changeChain(detail.id, kept);
      take(next);
      // What was changed meanwhile goes on from what was just kept.
      if (draft.current === kept) setDraft(null);
      else if (draft.current) draft.current = { chain: draft.current.chain, revision: next.revision };
    });
  };

  const edit = (chain: Chain) => {
    setDraft({ chain, revision: draft.current?.revision ?? seen.current.revision });
    clearTimeout(timer.current);
    timer.current = setTimeout(() => void keep(), restMilliseconds);
  };

  const act = async (change: (revision: number) => Promise<ChainDetail>): Promise<boolean> => {
    if (draft.current && !(await keep())) return false;
    return inLine(async () => take(await change(seen.current.revision)));
  };

  // Leaving the screen keeps what is not kept.
  const leave = useEffectEvent(() => void (draft.current && keep()));
  useEffect(() => {
    window.addEventListener('pagehide', leave);
    return () => {
      window.removeEventListener('pagehide', leave);
      leave();
    };
  }, []);

  const forget = () => {
    setLost(null);
    setTrouble(null);
  };
  return {
    detail: seen.current,
    // The server read it as a chain (src/finish/chain.ts) before it kept it.
    chain: draft.current?.chain ?? (seen.current.chain as Chain),
    state: trouble !== null ? 'failed' : busy || draft.current ? 'keeping' : 'kept',
    trouble,
    lost,
    edit,
    keep,
    undo: () => void act((revision) => moveChain(detail.id, 'undo', revision)),
    redo: () => void act((revision) => moveChain(detail.id, 'redo', revision)),
    goBack: (step) => void act((revision) => returnTo(detail.id, revision, step)),
    act,
    insist: () => {
      if (!lost) return;
      forget();
      edit(lost);
    },
    forget,
  };
}
