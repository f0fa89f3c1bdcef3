import { useState } from 'react';
import { Link } from 'wouter';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { useSets } from '../api/keeping-queries.ts';
import { remember, remembered } from '../parts/remembered.ts';
import { count } from '../words/figures.ts';

export interface ChosenSet {
  /** undefined while the sets are not here yet. */
  readonly sets: readonly ReferenceSet[] | undefined;
  /** null: no set, by choice or because there is none. */
  readonly set: ReferenceSet | null;
  choose(id: string | null): void;
}

/** The reference set in use, the same on every screen of this browser; the one changed last until one is chosen. */
export function useChosenSet(): ChosenSet {
  const sets = useSets();
  const [id, setId] = useState(() => remembered('set'));
  const named = sets.data?.find((set) => set.id === id);
  const newest = sets.data?.reduce<ReferenceSet | null>(
    (latest, set) => (latest && latest.changedAt >= set.changedAt ? latest : set),
    null,
  );
  return {
    sets: sets.data,
    set: id === 'none' ? null : (named ?? newest ?? null),
    choose: (next) => {
      remember('set', next ?? 'none');
      setId(next ?? 'none');
    },
  };
}

export function SetSelect({ chosen }: { chosen: ChosenSet }) {
  if (!chosen.sets) return null;
  if (chosen.sets.length === 0)
    return (
      <p className="note">
        No reference set yet. <Link href="/sets">Make one</Link> of about ten records you know by heart.
      </p>
    );
  return (
    <div className="set-select">
      <label className="find">
        Reference set
        <select
          value={chosen.set?.id ?? 'none'}
          onChange={(event) => chosen.choose(event.target.value === 'none' ? null : event.target.value)}
        >
          <option value="none">none</option>
          {chosen.sets.map((set) => (
            <option key={set.id} value={set.id}>
              {set.name} ({count(set.members.length, 'record')})
            </option>
          ))}
        </select>
      </label>
      {chosen.set && (
        <Link className="note" href={`/sets/${chosen.set.id}`}>
          open it
        </Link>
      )}
    </div>
  );
}
