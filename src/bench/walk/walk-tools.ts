import type { Place } from '../../places/place.ts';
import type { Home } from '../home.ts';
import type { Workshop } from '../run-task.ts';
import type { Store } from '../store/database.ts';
import type { Songs } from '../store/songs.ts';

/** What everything about walks works with. */
export interface WalkTools {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly songs: Songs;
  /** Every place that is known, built-in and own. */
  readonly places: () => Promise<readonly Place[]>;
  /** Told of a walk that reads differently. */
  readonly told: (walkId: string) => void;
  readonly now: () => Date;
  /** Where the notebook page was built to; the usual place by default. */
  readonly notebookPagePath?: string;
}
