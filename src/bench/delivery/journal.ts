import { mkdir, open, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { syncFolder } from '../../audio/files/write-sound.ts';
import type { FoundFile, SurvivedCoding } from '../../deliver/proof/contract.ts';
import type { Assembled } from '../tasks/assemble.ts';

/** Where everything is made before it gets its name; gone when the delivery is done. */
const workName = '.everyroom-delivery';
const journalName = 'journal.json';
/** Written last: a delivery without it is not done. */
export const sumsName = 'SHA256SUMS';

interface Entries {
  /** What a delivery is made of; another one does not go on where this was. */
  readonly key: string;
  /** Whether files have begun to get their names. */
  placing: boolean;
  readonly stages: Record<string, readonly Assembled[]>;
  readonly files: Record<string, FoundFile>;
  readonly coded: Record<string, readonly SurvivedCoding[]>;
}

const formSchema = z.object({
  key: z.string(),
  placing: z.boolean(),
  stages: z.record(z.string(), z.array(z.unknown())),
  files: z.record(z.string(), z.unknown()),
  coded: z.record(z.string(), z.array(z.unknown())),
});

/** What has been done of a delivery, on the disk before it counts, so that a run that was killed is taken up where it was. */
export class DeliveryJournal {
  readonly folder: string;
  readonly work: string;
  readonly #entries: Entries;
  #writing: Promise<void> = Promise.resolve();

  private constructor(folder: string, entries: Entries) {
    this.folder = folder;
    this.work = join(folder, workName);
    this.#entries = entries;
  }

  /**
   * Takes a folder for a delivery: a new or an empty one, or one in which this very delivery was begun. Throws CodedError
   * DELIVERY_REFUSED for any other, FILE_NO_PERMISSION, DISK_FULL, ...
   */
  static async open(folder: string, key: string): Promise<DeliveryJournal> {
    try {
      await mkdir(join(folder, workName), { recursive: true });
      const names = (await readdir(folder)).filter((name) => name !== workName);
      const before = await readEntries(join(folder, workName, journalName));
      if (before?.key === key) return new DeliveryJournal(folder, before);
      if (names.length > 0 || before?.placing) {
        if (!before) await rm(join(folder, workName), { recursive: true, force: true });
        throw new CodedError(
          'DELIVERY_REFUSED',
          names.includes(sumsName)
            ? `“${basename(folder)}” holds an earlier delivery, which stays as it is. Name a new folder.`
            : `“${basename(folder)}” is not empty. Name a new folder.`,
        );
      }
      await rm(join(folder, workName), { recursive: true, force: true });
      await mkdir(join(folder, workName));
      const journal = new DeliveryJournal(folder, { key, placing: false, stages: {}, files: {}, coded: {} });
      await journal.#write();
      return journal;
    } catch (error) {
      throw fileError(error, folder, 'write');
    }
  }

  get placing(): boolean {
    return this.#entries.placing;
  }

  /** What was assembled for a programme, where all of it still lies there. */
  async stage(id: string, paths: readonly string[]): Promise<readonly Assembled[] | null> {
    const stage = this.#entries.stages[id];
    if (!stage) return null;
    const there = await Promise.all(paths.map((path) => stat(path).catch(() => null)));
    return there.every((each) => each !== null) ? stage : null;
  }

  /** What was written down of a programme's sound, whether or not it still lies there. */
  written(id: string): readonly Assembled[] | null {
    return this.#entries.stages[id] ?? null;
  }

  file(name: string): FoundFile | null {
    return this.#entries.files[name] ?? null;
  }

  coded(name: string): readonly SurvivedCoding[] | null {
    return this.#entries.coded[name] ?? null;
  }

  keepStage(id: string, made: readonly Assembled[]): Promise<void> {
    this.#entries.stages[id] = made;
    return this.#write();
  }

  keepFile(name: string, found: FoundFile): Promise<void> {
    this.#entries.files[name] = found;
    return this.#write();
  }

  keepCoded(name: string, coded: readonly SurvivedCoding[]): Promise<void> {
    this.#entries.coded[name] = coded;
    return this.#write();
  }

  beginPlacing(): Promise<void> {
    this.#entries.placing = true;
    return this.#write();
  }

  /** The delivery is whole: nothing of its making is left. */
  async close(): Promise<void> {
    await rm(this.work, { recursive: true, force: true });
  }

  /** One after the other, whole or not at all. */
  #write(): Promise<void> {
    const text = JSON.stringify(this.#entries);
    this.#writing = this.#writing.catch(() => {}).then(() => replaceFile(join(this.work, journalName), text));
    return this.#writing;
  }
}

async function replaceFile(path: string, text: string): Promise<void> {
  try {
    const file = await open(`${path}.new`, 'w');
    try {
      await file.writeFile(text);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(`${path}.new`, path);
    await syncFolder(join(path, '..'));
  } catch (error) {
    throw fileError(error, path, 'write');
  }
}

async function readEntries(path: string): Promise<Entries | null> {
  const text = await readFile(path, 'utf8').catch(() => null);
  if (text === null) return null;
  try {
    // Written by this very program version: the key holds it.
    return formSchema.parse(JSON.parse(text)) as Entries;
  } catch {
    return null;
  }
}
