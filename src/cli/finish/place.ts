import { randomUUID } from 'node:crypto';
import { link, mkdir, mkdtemp, readdir, realpath, rename, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { syncFolder } from '../../audio/files/write-sound.ts';
import { refuseBadPlace } from '../write-whole.ts';

/** Where a result is made, and how it gets to its name. */
export interface Place {
  readonly scratchPath: string;
  /** Gives the finished file its name; never over a file that is not to be replaced, not even one that came meanwhile. */
  settle(path: string): Promise<void>;
  /** Removes what is left of the making. */
  clear(): Promise<void>;
}

/**
 * A folder beside where the result will lie, on the same disk. What a killed run left there is removed first: such folders carry the
 * number of their process. Throws CodedError FILE_EXISTS, FILE_IS_DIRECTORY, FILE_NOT_FOUND, FILE_NO_PERMISSION.
 */
export async function placeFor(outPath: string, source: string, force: boolean): Promise<Place> {
  const out = resolve(outPath);
  const folder = dirname(out);
  await refuseBadPlace(out);
  if (await same(out, source))
    throw new CodedError(
      'FILE_EXISTS',
      `“${basename(out)}” is the song itself; a result never replaces what it is made from. Name another file.`,
    );
  if (!force && (await isThere(out))) throw exists(out);
  const scratchPath = join(folder, `${prefixOf(out)}${process.pid}-${randomUUID().slice(0, 8)}${ending}`);
  try {
    await sweep(folder, prefixOf(out));
    await mkdir(scratchPath, { mode: 0o700 });
  } catch (error) {
    throw fileError(error, out, 'write');
  }
  return {
    scratchPath,
    async settle(path) {
      try {
        if (force) await rename(path, out);
        else await nameAnew(path, out);
        await syncFolder(folder);
      } catch (error) {
        throw fileError(error, out, 'write');
      }
    },
    clear: () => rm(scratchPath, { recursive: true, force: true }),
  };
}

/** A place for a result that is only looked at. */
export async function nowhere(): Promise<Place> {
  const scratchPath = await mkdtemp(join(tmpdir(), 'everyroom-finish-'));
  return {
    scratchPath,
    settle: async () => {},
    clear: () => rm(scratchPath, { recursive: true, force: true }),
  };
}

const ending = '.finishing';

function prefixOf(out: string): string {
  return `.${basename(out)}.`;
}

/** A second name fails where a file is; renaming would replace it. Disks without second names are looked at just before. */
async function nameAnew(path: string, out: string): Promise<void> {
  try {
    await link(path, out);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' || (await isThere(out))) throw exists(out);
    if (code !== 'EPERM' && code !== 'ENOTSUP' && code !== 'ENOSYS' && code !== 'EMLINK') throw error;
    await rename(path, out);
  }
}

async function sweep(folder: string, prefix: string): Promise<void> {
  for (const name of await readdir(folder)) {
    if (!name.startsWith(prefix) || !name.endsWith(ending)) continue;
    const pid = /^(\d+)-[0-9a-f]{8}$/.exec(name.slice(prefix.length, -ending.length))?.[1];
    if (pid && !isAlive(Number(pid))) await rm(join(folder, name), { recursive: true, force: true });
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Someone else's process is one too.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

async function isThere(path: string): Promise<boolean> {
  return (await stat(path).catch(() => null)) !== null;
}

async function same(one: string, other: string): Promise<boolean> {
  const [a, b] = await Promise.all([one, other].map((path) => realpath(path).catch(() => null)));
  return a !== null && a === b;
}

function exists(out: string): CodedError {
  return new CodedError(
    'FILE_EXISTS',
    `“${basename(out)}” is there already and was left alone. Name another file, or say --force to replace it.`,
  );
}
