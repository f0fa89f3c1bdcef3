import { CodedError } from '../audio/coded-error.ts';
import type { VersionChange } from '../compare/change-result.ts';
import { audioFilePath } from './audio-store.ts';
import type { Home } from './home.ts';
import { keptResult, runTask, type Workshop } from './run-task.ts';
import type { Version } from './shapes.ts';
import { changeTask } from './tasks/change.ts';

type Bytes = Pick<Version, 'sha256'>;

/** What changed between two versions, and with it how they lie on each other: at once when it is known, worked out in the background when it is not. */
export class KnownChanges {
  readonly #home: Home;
  readonly #workshop: Workshop;
  readonly #report: (error: unknown) => void;
  readonly #stop = new AbortController();
  readonly #running = new Map<string, Promise<void>>();
  /** Why it could not be found out, by pair; tried again after the next start. */
  readonly #failed = new Map<string, string>();
  /** One at a time: each holds two songs in memory, and a check that someone waits for needs threads too. */
  #queue: Promise<void> = Promise.resolve();

  constructor(home: Home, workshop: Workshop, report: (error: unknown) => void) {
    this.#home = home;
    this.#workshop = workshop;
    this.#report = report;
  }

  /** null while it is not known; a sentence when it cannot be. */
  async known(before: Bytes, after: Bytes): Promise<VersionChange | string | null> {
    const failed = this.#failed.get(pairOf(before, after));
    if (failed !== undefined) return failed;
    return keptResult(changeTask, { files: [before, after], options: {} }, this.#workshop);
  }

  /** Finds it out when nobody does yet; `told` is called when it is known or cannot be. */
  want(before: Bytes, after: Bytes, told: () => void): void {
    const pair = pairOf(before, after);
    let running = this.#running.get(pair);
    if (!running) {
      running = this.#queue.then(() => this.#work(before, after));
      this.#queue = running;
      this.#running.set(pair, running);
      running.finally(() => this.#running.delete(pair));
    }
    running.then(() => {
      if (!this.#stop.signal.aborted) told();
    });
  }

  /** Stops what is being worked out; it is begun again when it is next asked for. */
  async close(): Promise<void> {
    this.#stop.abort();
    await this.#queue;
  }

  async #work(before: Bytes, after: Bytes): Promise<void> {
    const { signal } = this.#stop;
    if (signal.aborted) return;
    const file = ({ sha256 }: Bytes) => ({ path: audioFilePath(this.#home, sha256), sha256 });
    try {
      await runTask(changeTask, { files: [file(before), file(after)], options: {} }, this.#workshop, {
        signal,
      });
    } catch (error) {
      if (signal.aborted) return;
      if (!(error instanceof CodedError)) this.#report(error);
      this.#failed.set(
        pairOf(before, after),
        error instanceof CodedError ? error.message : 'A fault in Everyroom itself stopped the work.',
      );
    }
  }
}

function pairOf(before: Bytes, after: Bytes): string {
  return `${before.sha256},${after.sha256}`;
}
