import { homedir } from 'node:os';
import { CodedError } from '../audio/coded-error.ts';
import type { Run } from '../audio/run.ts';
import type { ChangeReport } from '../judge/change-report.ts';
import type { FileReport } from '../judge/file-report.ts';
import type { ProfileId } from '../judge/profiles.ts';
import { reportOf } from '../judge/report.ts';
import type { Traces } from '../measure/measurement.ts';
import { Alignments } from './alignments.ts';
import { audioFilePath, keepStream } from './audio-store.ts';
import type { BenchOptions } from './bench-options.ts';
import { ChainRoom } from './chain-room.ts';
import { compareFiles } from './compare-files.ts';
import { RecordRoom } from './delivery/record-room.ts';
import { demoAvailable, putDemoOnBench } from './demo-record.ts';
import { Desk } from './desk.ts';
import { displayName, titleOf } from './display-name.ts';
import { type BenchEvents, newEvents } from './events.ts';
import { Excerpts } from './excerpts.ts';
import { FinishingRoom } from './finishing-room.ts';
import { type Home, openHome } from './home.ts';
import { JobQueue } from './job-queue.ts';
import { KnownChanges } from './known-changes.ts';
import { ListeningLevel } from './listening-level.ts';
import { NoteBook } from './note-book.ts';
import { PlacesRoom } from './places/room.ts';
import { Playback } from './playback.ts';
import { Pool } from './pool.ts';
import { ReferenceSets } from './reference-sets.ts';
import type { Workshop } from './run-task.ts';
import type { Job, PlacesSettings, Song, Survival, SurviveSettings, Version, VersionKind } from './shapes.ts';
import { ShootoutRoom } from './shootout/room.ts';
import { StorageRoom } from './storage.ts';
import { openStore, type Store } from './store/database.ts';
import { lockHome } from './store/lock.ts';
import { judgeAgain, keptFacts, keptFigures, keptTraces } from './store/reports.ts';
import { Results } from './store/results.ts';
import { Songs } from './store/songs.ts';
import { keptSurvival } from './store/survivals.ts';
import { chosenFormats } from './survive-version.ts';
import { tidy } from './tidy.ts';
import { Walks } from './walk/walks.ts';
import { FolderChooser } from './watch/folder-chooser.ts';
import { WatchedFolders } from './watch/watched-folders.ts';

export interface Incoming {
  readonly stream: AsyncIterable<Uint8Array>;
  /** As the client calls the file. */
  readonly name: string;
  readonly kind: VersionKind;
  /** The song it is a version of; a new song when undefined. */
  readonly songId: string | undefined;
  readonly maxBytes: number;
}

/** One to make sound ready while the other lays versions on each other. */
const deskThreads = 2;
/** Between two songs that are heard one does not wait for a thread to start. */
const deskIdleMilliseconds = 10 * 60_000;

/** The application without its doors: songs, versions, checks and where they are kept. One process has it at a time. */
export class Bench {
  readonly events: BenchEvents;
  readonly home: Home;
  readonly #store: Store;
  readonly #pool: Pool;
  readonly #workshop: Workshop;
  readonly #unlock: () => void;
  #demo: Promise<Song[]> | undefined;
  readonly songs: Songs;
  readonly jobs: JobQueue;
  readonly excerpts: Excerpts;
  readonly playback: Playback;
  readonly desk: Desk;
  /** For the desk alone: who listens does not wait for what is being coded. */
  readonly #deskPool: Pool;
  readonly sets: ReferenceSets;
  readonly notes: NoteBook;
  readonly level: ListeningLevel;
  readonly watched: WatchedFolders;
  readonly folders: FolderChooser;
  readonly storage: StorageRoom;
  readonly shootouts: ShootoutRoom;
  readonly places: PlacesRoom;
  readonly walks: Walks;
  readonly chains: ChainRoom;
  readonly finishing: FinishingRoom;
  readonly records: RecordRoom;
  readonly #alignments: Alignments;
  readonly #changes: KnownChanges;

  private constructor(home: Home, store: Store, unlock: () => void, options: BenchOptions) {
    this.home = home;
    this.#store = store;
    this.#unlock = unlock;
    this.events = newEvents();
    this.#pool = new Pool({ size: options.poolSize, scratchPath: home.incomingPath });
    this.#workshop = { pool: this.#pool, results: new Results(store) };
    const report = options.report ?? console.error;
    this.finishing = new FinishingRoom({
      home,
      store,
      workshop: this.#workshop,
      events: this.events,
      arrived: (versionId) => this.#arrived(versionId),
    });
    this.jobs = new JobQueue(home, store, this.#workshop, this.events, report, {
      finish: (asked) => this.finishing.finish(asked),
      loudness: (asked) => this.finishing.chooseLoudness(asked),
      places: (asked) => this.places.work(asked),
    });
    this.songs = new Songs(store, this.jobs.live);
    this.excerpts = new Excerpts(home, this.#pool);
    this.#deskPool = new Pool({
      size: deskThreads,
      scratchPath: home.incomingPath,
      idleMilliseconds: deskIdleMilliseconds,
    });
    this.#alignments = new Alignments(
      home,
      { ...this.#workshop, pool: this.#deskPool },
      ({ songId }) => this.events.emit('desk', { what: 'timeline', songId }),
      report,
    );
    this.playback = new Playback(home, this.#deskPool);
    this.desk = new Desk(
      this.songs,
      {
        facts: (version) => keptFigures(store, version),
        loudness: async (version) => (await this.traces(version)).loudness,
      },
      this.#alignments,
      this.playback,
    );
    this.events.on('job', ({ kind, state, versionId }) => {
      if (kind === 'check' && state === 'done') this.#prepareDesk(versionId).catch(() => {});
    });
    this.sets = new ReferenceSets(store, this.songs, this.events);
    this.#changes = new KnownChanges(home, this.#workshop, report);
    this.notes = new NoteBook(store, this.songs, this.#changes, this.events);
    this.level = new ListeningLevel(store, options.now ?? (() => new Date()));
    this.folders = new FolderChooser(options.userHome ?? homedir(), home.path);
    this.watched = new WatchedFolders({
      home,
      store,
      workshop: this.#workshop,
      songs: this.songs,
      jobs: this.jobs,
      events: this.events,
      report,
      timing: options.watchTiming,
      maxBytes: options.maxBytes ?? Number.POSITIVE_INFINITY,
    });
    this.places = new PlacesRoom({
      home,
      store,
      workshop: this.#workshop,
      events: this.events,
      report,
      version: (id) => this.songs.getVersion(id),
      set: (id) => this.sets.get(id),
    });
    this.storage = new StorageRoom(home, store);
    const now = options.now ?? (() => new Date());
    const workshop = { ...this.#workshop, pool: this.#deskPool };
    const tools = { home, store, workshop, songs: this.songs, report, now };
    this.shootouts = new ShootoutRoom({
      ...tools,
      arrived: (versionId) => this.#arrived(versionId),
      told: (id) => this.events.emit('shootout', id),
      voterPagePath: options.voterPagePath,
    });
    this.walks = new Walks({
      ...tools,
      places: async () => (await this.places.library.list()).map(({ place }) => place),
      told: (id) => this.events.emit('walk', id),
      notebookPagePath: options.notebookPagePath,
    });
    this.chains = new ChainRoom({
      ...tools,
      sets: this.sets,
      outcomes: this.shootouts.outcomes,
      walks: this.walks,
      events: this.events,
    });
    this.records = new RecordRoom({
      ...tools,
      workshop: this.#workshop,
      told: (id) => this.events.emit('record', id),
    });
  }

  /**
   * Opens the data folder, tidies what a crash or old deletions left, and takes up unfinished checks.
   * CodedError: STORAGE_IN_USE, STORAGE_NEWER, STORAGE_FAILED, DISK_FULL, FILE_NO_PERMISSION.
   */
  static async open(options: BenchOptions = {}): Promise<Bench> {
    const home = await openHome(options.homePath);
    const unlock = lockHome(home);
    try {
      const bench = new Bench(home, openStore(home.databasePath), unlock, options);
      await tidy(bench, bench.#store);
      if (options.idle) return bench;
      await bench.jobs.start();
      await bench.places.measurings.start();
      await bench.watched.start();
      return bench;
    } catch (error) {
      unlock();
      throw error;
    }
  }

  /** Takes in a file as a version and asks for its check. `added` is false when the song had these bytes already. */
  async receive(
    incoming: Incoming,
  ): Promise<{ song: Song; version: Version; job: Job | null; added: boolean }> {
    const { songId, kind } = incoming;
    // Told before gigabytes travel, not after.
    if (songId !== undefined) await this.songs.get(songId);
    const name = displayName(incoming.name);
    const file = await keepStream(this.home, incoming.stream, incoming.maxBytes);
    const { versionId, added } =
      songId === undefined
        ? {
            versionId: (await this.songs.add(titleOf(name), [{ name, kind, file }])).versionIds[0],
            added: true,
          }
        : await this.songs.addVersion({ songId, name, kind, file });
    const before = await this.songs.getVersion(versionId);
    const job = before.verdict ? before.job : await this.jobs.enqueue(versionId, true);
    if (added) this.events.emit('songs');
    const song = await this.songs.get(before.songId);
    return { song, version: song.versions.find(({ id }) => id === versionId) ?? before, job, added };
  }

  /** Asks for a check of a version. */
  async check(versionId: string, lossy: boolean): Promise<Job> {
    await this.songs.getVersion(versionId);
    return this.jobs.enqueue(versionId, lossy);
  }

  /**
   * What the newest check of a version found, held against a profile (the usual one for its kind when left out), under
   * the version's present name; null before the first check has ended. Judged now, never measured again.
   */
  async report(version: Version, profile?: ProfileId): Promise<FileReport | null> {
    const facts = await keptFacts(this.#store, version);
    return facts && reportOf(facts, profile);
  }

  /** What there is to draw of a version. CodedError NOT_FOUND before its first check has ended. */
  async traces(version: Version): Promise<Traces> {
    const traces = await keptTraces(this.#store, version.id);
    if (!traces) throw new CodedError('NOT_FOUND', `“${version.name}” has not been checked yet.`);
    return traces;
  }

  /** What changed from one version to another. CodedError as compareFiles; JOB_CANCELLED when `run.signal` aborts. */
  async change(before: Version, after: Version, run: Run): Promise<ChangeReport> {
    const file = ({ name, sha256 }: Version) => ({ path: audioFilePath(this.home, sha256), name, sha256 });
    return compareFiles(file(before), file(after), this.#workshop, run);
  }

  /** Asks how a version survives lossy coding. CodedError NOT_FOUND, REQUEST_INVALID (no such format). */
  async survive(versionId: string, settings: SurviveSettings): Promise<Job> {
    await this.songs.getVersion(versionId);
    const formatIds = chosenFormats(settings.formatIds).map(({ id }) => id);
    return this.jobs.enqueueInstead('survive', versionId, { ...settings, formatIds });
  }

  /** What is known of how a version survives lossy coding, under the version's present name. */
  async survival(version: Version): Promise<Survival> {
    const kept = await keptSurvival(this.#store, version.id);
    const job = await this.jobs.newest('survive', version.id);
    if (!kept) return { job, settings: null, report: null, complete: false };
    const report = { ...kept.report, file: { ...kept.report.file, name: version.name } };
    return { ...kept, job, report };
  }

  /** Asks for a version in places. CodedError NOT_FOUND, REQUEST_INVALID (settings that cannot be). */
  async inPlaces(versionId: string, settings: PlacesSettings): Promise<Job> {
    await this.places.check(await this.songs.getVersion(versionId), settings);
    return this.jobs.enqueueInstead('places', versionId, settings);
  }

  async renameSong(id: string, title: string): Promise<Song> {
    await this.songs.rename(id, title);
    return this.#changedSong(id);
  }

  async deleteSong(id: string): Promise<void> {
    const { versions } = await this.songs.get(id);
    await this.songs.delete(id);
    for (const version of versions) await this.jobs.cancelOfVersion(version.id);
    this.events.emit('songs');
  }

  async restoreSong(id: string): Promise<Song> {
    await this.songs.restore(id);
    return this.#changedSong(id);
  }

  async patchVersion(id: string, patch: Parameters<Songs['patchVersion']>[1]): Promise<Version> {
    await this.songs.patchVersion(id, patch);
    // A mix is asked for other things than a master.
    if (patch.kind !== undefined) await judgeAgain(this.#store, await this.songs.getVersion(id));
    return this.#changedVersion(id);
  }

  async deleteVersion(id: string): Promise<void> {
    await this.songs.deleteVersion(id);
    await this.jobs.cancelOfVersion(id);
    this.events.emit('songs');
  }

  async restoreVersion(id: string): Promise<Version> {
    await this.songs.restoreVersion(id);
    return this.#changedVersion(id);
  }

  demoAvailable(): Promise<boolean> {
    return demoAvailable(this.home);
  }

  /** Two requests at once are one: the second waits for the first instead of copying the record again. */
  putDemoOnBench(): Promise<Song[]> {
    this.#demo ??= this.#putDemo().finally(() => {
      this.#demo = undefined;
    });
    return this.#demo;
  }

  /** Stops the work and lets go of the folder; unfinished checks wait for the next start. */
  async close(): Promise<void> {
    this.playback.close();
    await this.watched.close();
    await this.shootouts.outgoing.close();
    await this.records.close();
    await this.#changes.close();
    await this.places.measurings.close();
    // Told before its threads end, or it would take that for a fault.
    const alignments = this.#alignments.close();
    await this.jobs.close();
    await Promise.all([this.#pool.close(), this.#deskPool.close(), alignments]);
    await this.#store.destroy();
    this.#unlock();
  }

  /** A version came that nobody uploaded. */
  async #arrived(versionId: string): Promise<void> {
    await this.jobs.enqueue(versionId, true);
    this.events.emit('songs');
  }

  /** What a new version needs to be heard beside the others is found out before anyone asks. */
  async #prepareDesk(versionId: string): Promise<void> {
    const { songId } = await this.songs.getVersion(versionId);
    await this.desk.song(songId);
  }

  async #putDemo(): Promise<Song[]> {
    const ids = await putDemoOnBench(this.home, this.songs);
    this.events.emit('songs');
    return Promise.all(ids.map((id) => this.songs.get(id)));
  }

  async #changedSong(id: string): Promise<Song> {
    this.events.emit('songs');
    return this.songs.get(id);
  }

  async #changedVersion(id: string): Promise<Version> {
    this.events.emit('songs');
    return this.songs.getVersion(id);
  }
}
