import { lstat, realpath, rm, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { lengthWarningOf } from '../../audio/sound-info.ts';
import { changeReportOf } from '../../judge/change-report.ts';
import { audioFilePath, keepStaged, type StagedFile, stageCopy, tooLarge } from '../audio-store.ts';
import { displayName, titleOf } from '../display-name.ts';
import type { BenchEvents } from '../events.ts';
import type { Home } from '../home.ts';
import type { JobQueue } from '../job-queue.ts';
import { runTask, type Workshop } from '../run-task.ts';
import type { Store } from '../store/database.ts';
import { keptTraces } from '../store/reports.ts';
import type { Songs } from '../store/songs.ts';
import { type Arrival, type FileState, type WatchedFolder, WatchStore } from '../store/watch.ts';
import { changeTask } from '../tasks/change.ts';
import { type Measured, measureTask } from '../tasks/measure.ts';
import { FolderWatch, type Outcome, soundFiles, usualTiming, type WatchTiming } from './folder-watch.ts';
import { recognise } from './recognise.ts';
import { kindByName } from './song-key.ts';

export interface WatchState {
  readonly folders: readonly (WatchedFolder & { readonly trouble: string | null })[];
  readonly arrivals: readonly Arrival[];
}

export interface WatchDesk {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly songs: Songs;
  readonly jobs: JobQueue;
  readonly events: BenchEvents;
  readonly report: (error: unknown) => void;
  readonly timing?: Partial<WatchTiming>;
  /** Largest file taken. */
  readonly maxBytes: number;
}

const mostLines = 3;

type Told = Pick<Arrival, 'versionId' | 'how' | 'lines'>;

interface Running {
  readonly watch: FolderWatch;
  /** Why the folder cannot be read. */
  trouble: string | null;
  /** Why a file could not be taken though nothing is wrong with it. */
  blocked: string | null;
}

/** Watched folders: what is bounced there comes to the bench by itself. */
export class WatchedFolders {
  readonly #desk: WatchDesk;
  readonly #timing: WatchTiming;
  readonly #kept: WatchStore;
  readonly #running = new Map<string, Running>();
  readonly #stop = new AbortController();
  #timer: NodeJS.Timeout | undefined;
  #syncing: Promise<void> = Promise.resolve();
  /** One file at a time, from whichever folder. */
  #taking: Promise<unknown> = Promise.resolve();

  constructor(desk: WatchDesk) {
    this.#desk = desk;
    this.#timing = { ...usualTiming, ...desk.timing };
    this.#kept = new WatchStore(desk.store);
  }

  /** Begins to watch, with what came while nobody did. */
  async start(): Promise<void> {
    await this.#sync();
    this.#timer = setInterval(() => {
      // Another process (the command line) may have added or removed one.
      this.#sync().catch(this.#desk.report);
    }, this.#timing.scanMs);
    this.#timer.unref();
  }

  async state(): Promise<WatchState> {
    const folders = await this.#kept.folders();
    return {
      folders: folders.map((folder) => ({
        ...folder,
        trouble: this.#running.get(folder.id)?.trouble ?? this.#running.get(folder.id)?.blocked ?? null,
      })),
      arrivals: await this.#kept.arrivals(),
    };
  }

  async add(path: string): Promise<WatchState> {
    await watchFolder(this.#desk.store, this.#desk.home, path);
    return this.#changed();
  }

  async remove(id: string): Promise<WatchState> {
    await this.#kept.remove(id);
    return this.#changed();
  }

  async close(): Promise<void> {
    clearInterval(this.#timer);
    this.#stop.abort();
    await this.#syncing.catch(() => {});
    await Promise.all([...this.#running.values()].map(({ watch }) => watch.close()));
  }

  async #changed(): Promise<WatchState> {
    await this.#sync();
    this.#desk.events.emit('desk', { what: 'watch' });
    return this.state();
  }

  #sync(): Promise<void> {
    this.#syncing = this.#syncing.catch(() => {}).then(() => this.#syncNow());
    return this.#syncing;
  }

  async #syncNow(): Promise<void> {
    if (this.#stop.signal.aborted) return;
    const folders = await this.#kept.folders();
    for (const [id, { watch }] of this.#running)
      if (!folders.some((folder) => folder.id === id)) {
        this.#running.delete(id);
        // Ends with the file it is at; nobody need wait for that.
        watch.close().catch(this.#desk.report);
      }
    for (const folder of folders) if (!this.#running.has(folder.id)) await this.#begin(folder);
  }

  async #begin(folder: WatchedFolder): Promise<void> {
    const running: Running = {
      trouble: null,
      blocked: null,
      watch: new FolderWatch({
        path: folder.path,
        timing: this.#timing,
        dealtWith: await this.#kept.dealtWith(folder.id),
        onFile: (file, patient) => this.#queued(folder, file, patient),
        onTrouble: (sentence) => {
          running.trouble = sentence;
          this.#desk.events.emit('desk', { what: 'watch' });
        },
      }),
    };
    this.#running.set(folder.id, running);
  }

  #queued(folder: WatchedFolder, file: FileState, patient: boolean): Promise<Outcome> {
    const taken = this.#taking.then(() => this.#take(folder, file, patient));
    this.#taking = taken;
    return taken;
  }

  async #take(folder: WatchedFolder, file: FileState, patient: boolean): Promise<Outcome> {
    if (this.#stop.signal.aborted) return 'failed';
    const path = join(folder.path, file.name);
    let staged: StagedFile | undefined;
    try {
      const { maxBytes } = this.#desk;
      if (file.bytes > maxBytes) {
        const how = `Not taken. ${tooLarge(maxBytes).message}`;
        await this.#deal(folder, file, { versionId: null, how, lines: [] });
        return 'dealt-with';
      }
      if (!patient && (await openWithWarnings(path))) return 'unfinished';
      staged = await stageCopy(this.#desk.home, path);
      const after = await lstat(path).catch(() => null);
      // Written to while it was copied: the copy is of no one moment.
      if (after && (after.size !== file.bytes || after.mtimeMs !== file.changedMs)) return 'unfinished';
      const arrival = await this.#arrival(file.name, staged, patient);
      if (!arrival) return 'unfinished';
      await this.#deal(folder, file, arrival);
      return 'dealt-with';
    } catch (error) {
      return this.#failed(folder, file, staged ? named(error, staged.path, file.name) : error, patient);
    } finally {
      if (staged) await rm(staged.path, { force: true });
    }
  }

  /** null: it is not whole yet. */
  async #arrival(fileName: string, staged: StagedFile, patient: boolean): Promise<Told | null> {
    const there = await this.#desk.songs.findByBytes(staged.sha256);
    if (there)
      return {
        versionId: there.id,
        how: `Already on the bench as “${there.name}”: the same bytes.`,
        lines: [],
      };
    const { signal } = this.#stop;
    const measured = await runTask(measureTask, { files: [staged], options: {} }, this.#desk.workshop, {
      signal,
    });
    if (!patient && measured.info.warnings.length > 0) return null;
    const early = lengthWarningOf(measured.info);
    if (early)
      return {
        versionId: null,
        how: `Not taken: it is not whole. ${early} It is looked at again when it changes.`,
        lines: [],
      };
    return this.#bring(fileName, staged, measured);
  }

  async #failed(folder: WatchedFolder, file: FileState, error: unknown, patient: boolean): Promise<Outcome> {
    if (this.#stop.signal.aborted) return 'failed';
    if (!(error instanceof CodedError)) this.#desk.report(error);
    const { code, message } =
      error instanceof CodedError
        ? error
        : { code: 'INTERNAL', message: 'A fault in Everyroom itself stopped the work.' };
    // Not the file's fault: tried again with the next reading of the folder, and said there until then.
    if (code === 'DISK_FULL' || code === 'STORAGE_FAILED') {
      this.#block(folder, `“${file.name}” could not be taken. ${message}`);
      return 'failed';
    }
    if (!patient && code !== 'INTERNAL') return 'unfinished';
    await this.#deal(folder, file, { versionId: null, how: `Not taken. ${message}`, lines: [] });
    return 'dealt-with';
  }

  #block(folder: WatchedFolder, sentence: string | null): void {
    const running = this.#running.get(folder.id);
    if (!running || running.blocked === sentence) return;
    running.blocked = sentence;
    this.#desk.events.emit('desk', { what: 'watch' });
  }

  async #deal(folder: WatchedFolder, file: FileState, arrival: Told): Promise<void> {
    await this.#kept.deal(folder.id, file, arrival);
    this.#block(folder, null);
    this.#desk.events.emit('desk', { what: 'watch' });
  }

  /** Puts a whole new file on the bench. */
  async #bring(fileName: string, staged: StagedFile, { measurement }: Measured): Promise<Told> {
    const { home, songs, jobs, events, store, workshop } = this.#desk;
    const name = displayName(fileName);
    const { signal } = this.#stop;
    const { song, last, change, how } = await recognise(
      { name, traces: measurement.traces },
      await songs.list(),
      {
        traces: (version) => keptTraces(store, version.id),
        change: ({ sha256 }) => {
          const files = [{ path: audioFilePath(home, sha256), sha256 }, staged];
          return runTask(changeTask, { files, options: {} }, workshop, { signal });
        },
      },
    );
    const kind = kindByName(name) ?? last?.kind ?? 'mix';
    const file = await keepStaged(home, staged);
    const versionId = song
      ? (await songs.addVersion({ songId: song.id, name, kind, file })).versionId
      : (await songs.add(titleOf(name), [{ name, kind, file }])).versionIds[0];
    await jobs.enqueue(versionId, true);
    events.emit('songs');
    const lines =
      last && change
        ? changeReportOf(
            { name: last.name, sha256: last.sha256 },
            { name, sha256: file.sha256 },
            change,
          ).sentences.slice(0, mostLines)
        : [];
    return { versionId, how, lines };
  }
}

/**
 * Watches a folder from now on. CodedError FILE_NOT_FOUND, FILE_NO_PERMISSION, and REQUEST_INVALID for what is no folder or
 * is the application's own.
 */
export async function watchFolder(store: Store, home: Home, path: string): Promise<string> {
  try {
    const real = await realpath(path);
    if (!(await stat(real)).isDirectory())
      throw new CodedError('REQUEST_INVALID', `“${path}” is a file; name the folder it lies in.`);
    const own = await realpath(home.path);
    if (real === own || real.startsWith(join(own, '/')))
      throw new CodedError('REQUEST_INVALID', 'That folder is Everyroom’s own; what lies there is known.');
    await new WatchStore(store).add(real, await soundFiles(real));
    return real;
  } catch (error) {
    throw fileError(error, path, 'read');
  }
}

/** Whether reading the header gives cause to wait. Throws CodedError for what is no sound (yet). */
async function openWithWarnings(path: string): Promise<boolean> {
  const sound = await openSound(path);
  await sound.close();
  return sound.info.warnings.length > 0;
}

/** A copy is called by chance; the sentence gets the name that the person knows. */
function named(error: unknown, path: string, name: string): unknown {
  if (!(error instanceof CodedError)) return error;
  const { code, message } = error;
  return new CodedError(
    code,
    message.replaceAll(basename(path), () => name),
    { cause: error },
  );
}
