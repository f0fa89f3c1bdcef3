import { lstat, readdir, readFile } from 'node:fs/promises';
import { basename, join, resolve } from 'node:path';
import { z } from 'zod';
import { CodedError } from '../audio/coded-error.ts';
import { fileError } from '../audio/files/file-error.ts';
import { hashFile } from '../audio/files/hash-file.ts';
import { openSound } from '../audio/files/open-sound.ts';
import { audioFilePath } from './audio-store.ts';
import { displayName } from './display-name.ts';
import type { Home } from './home.ts';
import type { ReferenceSet } from './store/sets.ts';
import { copyInto, endingOf, plainName, writeText, writeWholeFolder } from './whole-folder.ts';

/** The list beside the sound files. */
const listName = 'set.json';
const mostListBytes = 1 << 20;

/** A plain file name beside the list: nothing in it may lead elsewhere, on any system. */
const fileName = z
  .string()
  .max(255)
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what must not be there
  .regex(/^[^./\\:\u0000-\u001f][^/\\:\u0000-\u001f]*$/);
const label = z
  .string()
  .max(200)
  .transform((text) => displayName(text.replaceAll(/[/\\]/g, ' ')));
const listSchema = z.strictObject({
  everyroom: z.literal('reference set'),
  version: z.literal(1),
  name: label,
  references: z
    .array(
      z.strictObject({
        file: fileName,
        title: label,
        name: label,
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
        bytes: z.int().positive(),
      }),
    )
    .max(500),
});
type SetList = z.infer<typeof listSchema>;

export interface FolderReference {
  /** Where it lies. */
  readonly path: string;
  readonly title: string;
  /** What the file was called. */
  readonly name: string;
  readonly sha256: string;
}

export interface FolderSet {
  readonly name: string;
  readonly references: readonly FolderReference[];
}

/**
 * Writes a set as a folder: its sound files and a readable list with their hashes. Whole or not at all: beside its place
 * first, then moved there. Throws CodedError: REQUEST_INVALID (something is there), FILE_NOT_FOUND, DISK_FULL, ...
 */
export async function writeSetFolder(home: Home, set: ReferenceSet, folder: string): Promise<void> {
  await writeWholeFolder(folder, async (path) => {
    const references: SetList['references'] = [];
    for (const [i, { songTitle, name, sha256, bytes }] of set.members.entries()) {
      const source = audioFilePath(home, sha256);
      const { info, close } = await openSound(source);
      await close();
      const number = String(i + 1).padStart(2, '0');
      const file = `${number} ${plainName(songTitle, 'reference')}.${endingOf(info.container)}`;
      await copyInto(source, join(path, file));
      if ((await hashFile(join(path, file))) !== sha256)
        throw new CodedError('STORAGE_FAILED', `The sound of “${songTitle}” has changed on the disk.`);
      references.push({ file, title: songTitle, name, sha256, bytes });
    }
    const list: SetList = { everyroom: 'reference set', version: 1, name: set.name, references };
    await writeText(join(path, listName), `${JSON.stringify(list, null, 2)}\n`);
  });
}

/**
 * Reads a set from a folder and holds every file against its hash; nothing is copied. Throws CodedError SET_INVALID for
 * anything that does not fit, FILE_NOT_FOUND where there is no such folder.
 */
export async function readSetFolder(folder: string): Promise<FolderSet> {
  const place = resolve(folder);
  const { name, references } = parseSetList(await readList(place), basename(place));
  const found: FolderReference[] = [];
  for (const { file, title, name: called, sha256, bytes } of references) {
    const path = join(place, file);
    // Of links nobody knows where they lead.
    const there = await lstat(path).catch(() => null);
    if (!there?.isFile()) throw invalid(`“${file}” is in its list and not in the folder.`);
    if (there.size !== bytes || (await hashFile(path)) !== sha256)
      throw invalid(`“${file}” is not the file that its list names: it was changed or damaged on the way.`);
    found.push({ path, title, name: called, sha256 });
  }
  return { name, references: found };
}

async function readList(place: string): Promise<string> {
  const path = join(place, listName);
  try {
    await readdir(place);
  } catch (error) {
    throw fileError(error, place, 'read');
  }
  const there = await lstat(path).catch(() => null);
  if (!there?.isFile()) throw invalid(`There is no ${listName} in “${basename(place)}”.`);
  if (there.size > mostListBytes) throw invalid(`The ${listName} is far too large.`);
  return readFile(path, 'utf8').catch((error: unknown) => {
    throw fileError(error, path, 'read');
  });
}

/** The list of a set out of its text. Throws CodedError SET_INVALID. */
export function parseSetList(text: string, folderName: string): SetList {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw invalid(`The ${listName} of “${folderName}” is not JSON.`, error);
  }
  const list = listSchema.safeParse(json);
  if (!list.success) {
    const [{ path, message }] = list.error.issues;
    throw invalid(
      `The ${listName} of “${folderName}” is not as it should be (${path.join('.') || 'as a whole'}: ${message}).`,
    );
  }
  const files = list.data.references.map(({ file }) => file.toLowerCase());
  if (new Set(files).size < files.length) throw invalid(`The ${listName} names a file twice.`);
  return list.data;
}

function invalid(sentence: string, cause?: unknown): CodedError {
  return new CodedError('SET_INVALID', `This cannot be taken in as a reference set. ${sentence}`, { cause });
}
