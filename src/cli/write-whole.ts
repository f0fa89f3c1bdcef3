import { randomUUID } from 'node:crypto';
import { open, rename, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { fileError } from '../audio/files/file-error.ts';

/** Refuses at once, before long work, a place that can not be written to. Throws CodedError naming it. */
export async function refuseBadPlace(path: string): Promise<void> {
  if (await isFolder(path))
    throw new CodedError('FILE_IS_DIRECTORY', `“${basename(path)}” is a folder; name a file to write to.`);
  if (!(await isFolder(dirname(path))))
    throw new CodedError(
      'FILE_NOT_FOUND',
      `The folder for “${basename(path)}” does not exist; make it first.`,
    );
}

async function isFolder(path: string): Promise<boolean> {
  return (await stat(path).catch(() => null))?.isDirectory() ?? false;
}

/**
 * Writes a text file, given at once or in parts, whole or not at all: beside its place first, then moved there, so that no reader ever sees
 * half of it and an older file survives a full disk. Throws CodedError naming the file.
 */
export async function writeWhole(path: string, text: string | AsyncIterable<string>): Promise<void> {
  const beside = join(dirname(path), `.${randomUUID()}.part`);
  try {
    await refuseBadPlace(path);
    const file = await open(beside, 'wx');
    try {
      if (typeof text === 'string') await file.writeFile(text);
      else for await (const part of text) await file.appendFile(part);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(beside, path);
  } catch (error) {
    await rm(beside, { force: true });
    throw fileError(error, path, 'write');
  }
}
