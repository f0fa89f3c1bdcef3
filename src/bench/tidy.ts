import { sweepAudio } from './audio-store.ts';
import type { ChainRoom } from './chain-room.ts';
import type { RecordRoom } from './delivery/record-room.ts';
import type { Excerpts } from './excerpts.ts';
import { clearIncoming, type Home } from './home.ts';
import type { NoteBook } from './note-book.ts';
import type { PlacesRoom } from './places/room.ts';
import type { Playback } from './playback.ts';
import type { ReferenceSets } from './reference-sets.ts';
import type { ShootoutRoom } from './shootout/room.ts';
import type { Store } from './store/database.ts';
import { draftHashes } from './store/finishings.ts';
import { Results } from './store/results.ts';
import type { Songs } from './store/songs.ts';
import { leadBandsTask } from './tasks/lead-bands.ts';
import { songBandsTask } from './tasks/song-bands.ts';
import type { Walks } from './walk/walks.ts';

/** All that keeps something which may have to go. */
interface Rooms {
  readonly home: Home;
  readonly songs: Songs;
  readonly sets: ReferenceSets;
  readonly notes: NoteBook;
  readonly excerpts: Excerpts;
  readonly playback: Playback;
  readonly shootouts: ShootoutRoom;
  readonly places: PlacesRoom;
  readonly walks: Walks;
  readonly chains: ChainRoom;
  readonly records: RecordRoom;
}

/** What was deleted can be taken back for this long. */
const keptAfterDeleteMilliseconds = 24 * 60 * 60 * 1000;
/** What can be made anew, and recordings of places, are kept this long. */
const keptMonthMilliseconds = 30 * 24 * 60 * 60 * 1000;

/** Tidies what a crash or old deletions left, before anything works. Rejects with what the disk or the database says. */
export async function tidy(bench: Rooms, store: Store): Promise<void> {
  await clearIncoming(bench.home);
  const before = new Date(Date.now() - keptAfterDeleteMilliseconds).toISOString();
  const monthAgo = new Date(Date.now() - keptMonthMilliseconds).toISOString();
  // Who plays a version goes before the version, so that its file is not kept for nobody.
  await bench.shootouts.host.purge(before);
  await bench.walks.purge(before);
  const wanted = await bench.songs.purge(before);
  for (const sha256 of await bench.places.measurings.purge(monthAgo)) wanted.add(sha256);
  for (const sha256 of await draftHashes(store)) wanted.add(sha256);
  for (const sha256 of await bench.records.store.purge(before)) wanted.add(sha256);
  await bench.records.store.stopRunning();
  await sweepAudio(bench.home, wanted);
  await bench.excerpts.sweep(wanted);
  await bench.playback.sweep(wanted);
  await bench.sets.purge(before);
  await bench.notes.purge(before);
  await bench.places.library.purge(before);
  await bench.chains.purge(before);
  const results = new Results(store);
  for (const { name } of [songBandsTask, leadBandsTask]) await results.forget(name, monthAgo);
}
