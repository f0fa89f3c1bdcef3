import { useSearchParams } from 'wouter';
import type { SongsQuery } from '../../src/server/catalogue-api.ts';

/** What may narrow the table of songs down. */
export type SongFilter = Pick<SongsQuery, 'state' | 'worst' | 'rule' | 'code' | 'outlier' | 'text'>;
type Sort = NonNullable<SongsQuery['sort']>;

const filters = ['state', 'worst', 'rule', 'code', 'outlier', 'text'] as const;
/** Sorted by these, the smallest is of interest first. */
const rising: ReadonlySet<Sort> = new Set<Sort>(['order', 'name']);

export interface TableState {
  /** The question to the server. */
  readonly query: string;
  readonly sort: Sort;
  readonly descending: boolean;
  readonly filter: SongFilter;
  /** Another filter in place of the present one, from the first page on. */
  show(filter: SongFilter): void;
  /** The same, for who presses far from the table: brings it into view. */
  showBelow(filter: SongFilter): void;
  sortBy(sort: Sort): void;
  /** All songs, the slowest first, in view. */
  slowest(): void;
  turn(to: { after: string } | { before: string } | null): void;
}

/** How the table of songs is sorted, filtered and turned to: kept in the address, so that a reload or a link keeps it. */
export function useTableState(): TableState {
  const [search, setSearch] = useSearchParams();
  const sort = (search.get('sort') ?? 'order') as Sort;
  const descending = search.get('descending') === 'true';
  const filter = Object.fromEntries(
    filters.flatMap((key) => (search.has(key) ? [[key, search.get(key)]] : [])),
  ) as SongFilter;
  const go = (next: Readonly<Record<string, string | undefined>>): void =>
    setSearch(
      Object.fromEntries(
        Object.entries(next).flatMap(([key, value]) => (value ? [[key, value] as const] : [])),
      ),
      { replace: true },
    );
  const sorting = { sort: search.get('sort') ?? undefined, descending: descending ? 'true' : undefined };
  const compared = search.get('compare') ?? undefined;
  const asked = new URLSearchParams(search);
  asked.delete('compare');
  const show = (wanted: SongFilter): void => go({ ...sorting, ...wanted, compare: compared });
  return {
    query: asked.toString(),
    sort,
    descending,
    filter,
    show,
    showBelow: (wanted) => {
      show(wanted);
      bringIntoView();
    },
    sortBy: (wanted) =>
      go({
        ...filter,
        compare: compared,
        sort: wanted,
        descending: (wanted === sort ? !descending : !rising.has(wanted)) ? 'true' : undefined,
      }),
    slowest: () => {
      go({ sort: 'took', descending: 'true', compare: compared });
      bringIntoView();
    },
    turn: (to) => go({ ...filter, ...sorting, compare: compared, ...to }),
  };
}

const bringIntoView = (): void => document.getElementById('songs')?.scrollIntoView({ block: 'start' });

/** The earlier run that the reader compares with; null: none. */
export function useComparedRun(): [string | null, (id: string | null) => void] {
  const [search, setSearch] = useSearchParams();
  return [
    search.get('compare'),
    (id) =>
      setSearch(
        (now) => {
          const next = new URLSearchParams(now);
          if (id === null) next.delete('compare');
          else next.set('compare', id);
          return next;
        },
        { replace: true },
      ),
  ];
}
