import type { Home } from '../home.ts';
import type { Workshop } from '../run-task.ts';
import type { Store } from '../store/database.ts';
import type { Songs } from '../store/songs.ts';

/** What records on the bench work with. */
export interface RecordTools {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly songs: Songs;
  /** Told of a record that reads differently; null: whatever is said of versions. */
  readonly told: (recordId: string | null) => void;
  readonly report: (error: unknown) => void;
  readonly now: () => Date;
}
