import type { VersionAlign } from '../compare/lay-versions.ts';
import { audioFilePath } from './audio-store.ts';
import type { Home } from './home.ts';
import { keptResult, runTask, type Workshop } from './run-task.ts';
import type { Version } from './shapes.ts';
import { alignTask } from './tasks/align.ts';
import type { TaskFile } from './tasks/task.ts';

/** How versions lie on each other's timelines: found once, one pair at a time, those asked for first. */
export class Alignments {
  readonly #home: Home;
  readonly #workshop: Workshop;
  /** Told of a version that has been laid. */
  readonly #found: (version: Version) => void;
  readonly #report: (error: unknown) => void;
  readonly #running = new Map<string, Promise<VersionAlign>>();
  #behind: Promise<unknown> = Promise.resolve();
  #closed = false;

  constructor(
    home: Home,
    workshop: Workshop,
    found: (version: Version) => void,
    report: (error: unknown) => void,
  ) {
    this.#home = home;
    this.#workshop = workshop;
    this.#found = found;
    this.#report = report;
  }

  /** What is known already; null: nothing. */
  kept(base: Version, version: Version): Promise<VersionAlign | null> {
    return keptResult(alignTask, this.#input(base, version), this.#workshop);
  }

  /** Finds out. Rejects as runTask does. */
  get(base: Version, version: Version): Promise<VersionAlign> {
    const key = `${base.sha256} ${version.sha256}`;
    const running = this.#running.get(key);
    if (running) return running;
    const work = runTask(alignTask, this.#input(base, version), this.#workshop).finally(() =>
      this.#running.delete(key),
    );
    this.#running.set(key, work);
    work.then(
      () => this.#found(version),
      () => {},
    );
    return work;
  }

  /** Has it found out behind everything else that was begun. */
  begin(base: Version, version: Version): void {
    this.#behind = this.#behind.then(async () => {
      if (this.#closed) return;
      try {
        if (!(await this.kept(base, version))) await this.get(base, version);
      } catch (error) {
        // Whoever asks for the sound meets the same error and is told.
        if (!this.#closed) this.#report(error);
      }
    });
  }

  async close(): Promise<void> {
    this.#closed = true;
    await this.#behind;
  }

  #input(base: Version, version: Version) {
    const file = ({ sha256 }: Version): TaskFile => ({ path: audioFilePath(this.#home, sha256), sha256 });
    return { files: [file(base), file(version)], options: {} };
  }
}
