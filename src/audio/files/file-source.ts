import { constants } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { basename } from 'node:path';
import type { ByteSource } from '../byte-source.ts';
import { CodedError } from '../coded-error.ts';
import { fileError } from './file-error.ts';

/** An open file as a ByteSource; `close` gives the handle back and may be called twice. */
interface FileSource extends ByteSource {
  close(): Promise<void>;
}

/** Opens a file for reading. Throws CodedError: not found, a folder, no permission, empty. */
export async function openFileSource(path: string): Promise<FileSource> {
  const name = basename(path);
  // Without waiting: opening a pipe that nobody writes to would never come back.
  const handle = await open(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0)).catch(
    (error: unknown) => {
      throw fileError(error, path, 'read');
    },
  );
  try {
    const facts = await handle.stat();
    if (facts.isDirectory())
      throw new CodedError('FILE_IS_DIRECTORY', `“${name}” is a folder, not a sound file.`);
    if (!facts.isFile())
      throw new CodedError('SOUND_NOT_RECOGNISED', `“${name}” is a device or pipe, not a file.`);
    if (facts.size === 0)
      throw new CodedError('FILE_EMPTY', `“${name}” is empty (0 bytes). Copy or export it again.`);
    return source(path, name, facts.size, handle);
  } catch (error) {
    await handle.close();
    throw fileError(error, path, 'read');
  }
}

function source(path: string, name: string, size: number, handle: FileHandle): FileSource {
  let closed: Promise<void> | undefined;
  return {
    name,
    size,
    async read(position, length, room) {
      const count = Math.max(0, Math.min(length, size - position));
      const bytes = room && room.length >= count ? room.subarray(0, count) : new Uint8Array(count);
      let filled = 0;
      try {
        while (filled < bytes.length) {
          const { bytesRead } = await handle.read(bytes, filled, bytes.length - filled, position + filled);
          if (bytesRead === 0) break;
          filled += bytesRead;
        }
      } catch (error) {
        throw fileError(error, path, 'read');
      }
      return filled === bytes.length ? bytes : bytes.subarray(0, filled);
    },
    close() {
      closed ??= handle.close();
      return closed;
    },
  };
}
