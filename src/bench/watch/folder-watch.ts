import { lstat, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { type FSWatcher, watch } from 'chokidar';
import type { FileState } from '../store/watch.ts';
import { isSoundName } from './song-key.ts';

export interface WatchTiming {
  /** A file whose size and time stay for this long may be whole, ms. */
  readonly settledMs: number;
  /** Whatever the system tells or not (network drives tell nothing), the folder is read this often, ms. */
  readonly scanMs: number;
  /** A file that stays unfinished for this long is taken for what it is, ms. */
  readonly patienceMs: number;
}

export const usualTiming: WatchTiming = { settledMs: 2000, scanMs: 10_000, patienceMs: 60_000 };

/** What became of a file that was handed over. 'unfinished': not whole yet, to be looked at again when it has changed. */
export type Outcome = 'dealt-with' | 'unfinished' | 'failed';

export interface FolderWatchOptions {
  readonly path: string;
  readonly timing: WatchTiming;
  /** What was dealt with before, by name: such a file is news only when its size or time differs. */
  readonly dealtWith: ReadonlyMap<string, FileState>;
  /** A file has come or changed and lies still. `patient`: it has lain there unfinished for long. */
  onFile(file: FileState, patient: boolean): Promise<Outcome>;
  /** Why nothing can be taken from the folder; null when all is well again. */
  onTrouble(sentence: string | null): void;
}

interface Pending extends FileState {
  /** When it was first seen like this. */
  readonly sinceMs: number;
  readonly unfinished: boolean;
}

/** Sound files in one folder (not in folders inside it), as they stand now. Throws what readdir throws. */
export async function soundFiles(path: string): Promise<FileState[]> {
  const names = (await readdir(path)).filter(isSoundName);
  const states = await Promise.all(names.map((name) => stateOf(path, name)));
  return states.filter((state) => state !== null);
}

/** null for what is no plain file (a link could lead anywhere) or has gone. */
async function stateOf(path: string, name: string): Promise<FileState | null> {
  const found = await lstat(join(path, name)).catch(() => null);
  return found?.isFile() ? { name, bytes: found.size, changedMs: found.mtimeMs } : null;
}

const same = (a: FileState | undefined, b: FileState): boolean =>
  a !== undefined && a.bytes === b.bytes && a.changedMs === b.changedMs;

/**
 * Watches one folder: the system's news for promptness, reading it again and again for certainty. A file is handed over once
 * its size and time have stayed for a while, oldest first; a folder that is gone or shut is tried again until it is back.
 */
export class FolderWatch {
  readonly #options: FolderWatchOptions;
  readonly #dealtWith: Map<string, FileState>;
  readonly #pending = new Map<string, Pending>();
  #watcher: FSWatcher | null = null;
  #timer: NodeJS.Timeout | undefined;
  #working: Promise<void> = Promise.resolve();
  #trouble: string | null = null;
  #closed = false;
  #scannedMs = Number.NEGATIVE_INFINITY;

  constructor(options: FolderWatchOptions) {
    this.#options = options;
    this.#dealtWith = new Map(options.dealtWith);
    this.#next(0);
  }

  get path(): string {
    return this.#options.path;
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#timer);
    await this.#watcher?.close();
    await this.#working;
  }

  #next(ms: number): void {
    clearTimeout(this.#timer);
    if (this.#closed) return;
    this.#timer = setTimeout(() => {
      this.#working = this.#round().then(() => {
        const { settledMs, scanMs } = this.#options.timing;
        this.#next(this.#pending.size > 0 ? Math.min(scanMs, settledMs / 2) : scanMs);
      });
    }, ms);
    // Watching keeps no process alive.
    this.#timer.unref();
  }

  async #round(): Promise<void> {
    if (performance.now() - this.#scannedMs >= this.#options.timing.scanMs || this.#watcher === null)
      await this.#scan();
    // By time of change: of two bounces the later one is the later version.
    const inOrder = [...this.#pending.values()].sort((a, b) => a.changedMs - b.changedMs);
    for (const pending of inOrder) {
      if (this.#closed) return;
      await this.#look(pending);
    }
  }

  async #scan(): Promise<void> {
    this.#scannedMs = performance.now();
    try {
      for (const file of await soundFiles(this.path)) this.#note(file);
      this.#watcher ??= this.#listen();
      this.#say(null);
    } catch (error) {
      // What was listened to is gone with the folder; a new one is wanted when it is back.
      await this.#watcher?.close();
      this.#watcher = null;
      this.#say(troubleOf(error, this.path));
    }
  }

  #listen(): FSWatcher {
    const watcher = watch(this.path, { depth: 0, ignoreInitial: true, followSymlinks: false });
    const news = (): void => {
      this.#scannedMs = Number.NEGATIVE_INFINITY;
      // Only wakes: what is there is read from the disk.
      this.#working.then(() => this.#next(0));
    };
    // What goes wrong with listening (too many watches, a drive that has none) is met by reading.
    return watcher
      .on('add', news)
      .on('change', news)
      .on('unlinkDir', news)
      .on('error', () => {});
  }

  #note(file: FileState): void {
    const before = this.#pending.get(file.name);
    if (same(before, file)) return;
    if (!before && same(this.#dealtWith.get(file.name), file)) return;
    this.#pending.set(file.name, { ...file, sinceMs: performance.now(), unfinished: false });
  }

  async #look(pending: Pending): Promise<void> {
    const { settledMs, patienceMs } = this.#options.timing;
    const now = await stateOf(this.path, pending.name);
    if (!now) {
      this.#pending.delete(pending.name);
      return;
    }
    if (!same(pending, now)) {
      this.#note(now);
      return;
    }
    const still = performance.now() - pending.sinceMs;
    const patient = still >= patienceMs;
    if (still < settledMs || (pending.unfinished && !patient)) return;
    const outcome = await this.#options.onFile(now, patient);
    if (outcome === 'unfinished') this.#pending.set(now.name, { ...pending, unfinished: true });
    else this.#pending.delete(now.name);
    if (outcome === 'dealt-with') this.#dealtWith.set(now.name, now);
  }

  #say(sentence: string | null): void {
    if (sentence === this.#trouble) return;
    this.#trouble = sentence;
    this.#options.onTrouble(sentence);
  }
}

function troubleOf(error: unknown, path: string): string {
  const code = (error as NodeJS.ErrnoException).code ?? 'unknown';
  if (code === 'ENOENT')
    return `The folder ${path} is not there: deleted, renamed, or on a drive that is not connected. It is taken up again when it is back.`;
  if (code === 'EACCES' || code === 'EPERM')
    return `The folder ${path} may not be read by this user. It is taken up again when it may.`;
  if (code === 'ENOTDIR') return `${path} is no folder any more.`;
  return `The folder ${path} cannot be read now (${code}). It is tried again.`;
}
