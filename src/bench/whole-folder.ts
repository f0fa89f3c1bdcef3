import { randomUUID } from 'node:crypto';
import { constants } from 'node:fs';
import { copyFile, mkdir, open, readdir, rename, rm, rmdir } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { fileError } from '../audio/files/file-error.ts';

/**
 * Writes a folder whole or not at all: beside its place first, then moved there. `fill` gets where to write. Throws
 * CodedError: REQUEST_INVALID (something is there already), FILE_NOT_FOUND, FILE_NO_PERMISSION, DISK_FULL, ...
 */
export async function writeWholeFolder(folder: string, fill: (path: string) => Promise<void>): Promise<void> {
  const place = resolve(folder);
  const beside = join(dirname(place), `.${randomUUID()}.part`);
  try {
    if ((await readdir(place).catch(absent)).length > 0)
      throw new CodedError('REQUEST_INVALID', `“${basename(place)}” is not empty; name a new folder.`);
    await mkdir(beside);
    await fill(beside);
    // An empty folder may stand there; rename does not replace it on every system.
    await rmdir(place).catch(() => {});
    await rename(beside, place);
  } catch (error) {
    await rm(beside, { recursive: true, force: true });
    throw fileError(error, place, 'write');
  }
}

/** Copies a file into a folder that is being written. */
export function copyInto(source: string, path: string): Promise<void> {
  return copyFile(source, path, constants.COPYFILE_EXCL | constants.COPYFILE_FICLONE);
}

/** Writes a text file, flushed. */
export async function writeText(path: string, text: string): Promise<void> {
  const file = await open(path, 'wx');
  try {
    await file.writeFile(text);
    await file.sync();
  } finally {
    await file.close();
  }
}

/** A title as a file name that every system takes. */
export function plainName(title: string, otherwise: string): string {
  const plain = title
    .replace(/[<>:"/\\|?*\p{Cc}]/gu, ' ')
    .replace(/\s+/g, ' ')
    .trim()
    .replace(/[. ]+$/, '');
  return [...plain].slice(0, 80).join('').trim() || otherwise;
}

/** File endings by container. */
const endings: Readonly<Record<string, string>> = {
  WAV: 'wav',
  RF64: 'wav',
  BW64: 'wav',
  AIFF: 'aif',
  'AIFF-C': 'aifc',
  FLAC: 'flac',
  MP4: 'm4a',
  MP3: 'mp3',
  OGG: 'ogg',
  ADTS: 'aac',
};

/** The ending of a file with this container, without its dot. */
export function endingOf(container: string): string {
  return endings[container] ?? 'sound';
}

function absent(error: NodeJS.ErrnoException): string[] {
  if (error.code === 'ENOENT') return [];
  throw error;
}
