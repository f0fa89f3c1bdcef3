import type { WatchTiming } from './watch/folder-watch.ts';

/** How a bench is opened. */
export interface BenchOptions {
  /** The data folder; the usual one by default. */
  readonly homePath?: string;
  /** Worker threads; the cores by default. */
  readonly poolSize?: number;
  /** Told of faults of ours; standard error by default. */
  readonly report?: (error: unknown) => void;
  /** Only to change what is kept: no check is begun and no folder watched; what is asked for waits for the next start. */
  readonly idle?: boolean;
  /** Below it lie the folders that may be chosen to be watched; the user's home by default. */
  readonly userHome?: string;
  /** How patiently folders are watched. */
  readonly watchTiming?: Partial<WatchTiming>;
  /** Largest file that is taken from a watched folder; without bounds by default. */
  readonly maxBytes?: number;
  /** What time it is, for the listening clock. */
  readonly now?: () => Date;
  /** Where the voter page was built to; the usual place by default. */
  readonly voterPagePath?: string;
  /** Where the notebook page was built to; the usual place by default. */
  readonly notebookPagePath?: string;
}
