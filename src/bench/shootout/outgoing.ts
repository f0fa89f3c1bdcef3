import { randomUUID } from 'node:crypto';
import { readdir, rm, stat } from 'node:fs/promises';
import { join, relative, sep } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { Home } from '../home.ts';
import { randomLetters } from '../ids.ts';
import { plainName, writeWholeFolder } from '../whole-folder.ts';

export interface WrittenFiles {
  /** Where the folder lies; null when it waits to be fetched. */
  readonly path: string | null;
  readonly key: string | null;
  readonly files: readonly { readonly name: string; readonly bytes: number }[];
}

/** How long files wait to be fetched. */
const keptMilliseconds = 60 * 60 * 1000;

/** Folders that go out: put where the user says, or kept for a while to be fetched file by file. */
export class Outgoing {
  readonly #home: Home;
  readonly #waiting = new Map<string, { path: string; files: ReadonlySet<string>; timer: NodeJS.Timeout }>();

  constructor(home: Home) {
    this.#home = home;
  }

  /** @param inside the folder in which a new one called `name` is made; null: keep it to be fetched */
  async write(
    inside: string | null,
    name: string,
    fill: (path: string) => Promise<void>,
  ): Promise<WrittenFiles> {
    if (inside !== null) {
      const path = await freePlace(inside, plainName(name, 'shoot-out'));
      await writeWholeFolder(path, fill);
      return { path, key: null, files: await filesBelow(path) };
    }
    const key = randomLetters();
    const path = join(this.#home.incomingPath, `out-${randomUUID()}`);
    await writeWholeFolder(path, fill);
    const files = await filesBelow(path);
    const timer = setTimeout(() => void this.#drop(key), keptMilliseconds).unref();
    this.#waiting.set(key, { path, files: new Set(files.map((file) => file.name)), timer });
    return { path: null, key, files };
  }

  /** Path of a file that waits to be fetched. CodedError NOT_FOUND. */
  filePath(key: string, name: string): string {
    const waiting = this.#waiting.get(key);
    if (!waiting?.files.has(name))
      throw new CodedError('NOT_FOUND', 'There is no such file, or not any more.');
    return join(waiting.path, ...name.split('/'));
  }

  async close(): Promise<void> {
    await Promise.all([...this.#waiting.keys()].map((key) => this.#drop(key)));
  }

  async #drop(key: string): Promise<void> {
    const waiting = this.#waiting.get(key);
    if (!waiting) return;
    this.#waiting.delete(key);
    clearTimeout(waiting.timer);
    await rm(waiting.path, { recursive: true, force: true });
  }
}

async function freePlace(inside: string, name: string): Promise<string> {
  const taken = new Set(await readdir(inside).catch(() => []));
  for (let n = 1; ; n++) {
    const candidate = n === 1 ? name : `${name} ${n}`;
    if (!taken.has(candidate)) return join(inside, candidate);
  }
}

async function filesBelow(folder: string): Promise<{ name: string; bytes: number }[]> {
  const entries = await readdir(folder, { withFileTypes: true, recursive: true });
  const files: { name: string; bytes: number }[] = [];
  for (const entry of entries) {
    if (!entry.isFile()) continue;
    const path = join(entry.parentPath, entry.name);
    files.push({
      name: relative(folder, path).split(sep).join('/'),
      bytes: (await stat(path)).size,
    });
  }
  return files.sort((a, b) => (a.name < b.name ? -1 : 1));
}
