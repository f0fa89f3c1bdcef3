import {
  closeSync,
  fstatSync,
  ftruncateSync,
  mkdtempSync,
  openSync,
  readSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { CodedError } from '../../coded-error.ts';

const pieceBytes = 2 ** 20;

/**
 * A file without a name among the system's temporary ones: its name is taken away as soon as it is open, so that its
 * place is free again when it is closed, also when the process dies. Not thread-safe; everything blocks.
 */
export class ScratchFile {
  readonly fd: number;

  private constructor(fd: number) {
    this.fd = fd;
  }

  static create(): ScratchFile {
    return onDisk(() => {
      const folder = mkdtempSync(join(tmpdir(), 'everyroom-'));
      try {
        return new ScratchFile(openSync(join(folder, 'scratch'), 'wx+'));
      } finally {
        rmSync(folder, { recursive: true, force: true });
      }
    });
  }

  get byteLength(): number {
    return fstatSync(this.fd).size;
  }

  /** Writes all of `bytes` at a place. */
  write(bytes: Uint8Array, position: number): void {
    onDisk(() => {
      for (let done = 0; done < bytes.length; )
        done += writeSync(this.fd, bytes, done, bytes.length - done, position + done);
    });
  }

  /** Fills `bytes` from a place; how many there were before the end. */
  read(bytes: Uint8Array, position: number): number {
    let done = 0;
    onDisk(() => {
      while (done < bytes.length) {
        const read = readSync(this.fd, bytes, done, bytes.length - done, position + done);
        if (read === 0) break;
        done += read;
      }
    });
    return done;
  }

  /** Hands out everything from the beginning, in pieces that are valid during the call only. */
  readAll(take: (bytes: Uint8Array) => void): void {
    const piece = new Uint8Array(pieceBytes);
    for (let at = 0; ; ) {
      const read = this.read(piece, at);
      if (read === 0) break;
      take(piece.subarray(0, read));
      at += read;
    }
  }

  /** Shortens it to so many bytes, when it is longer. */
  cut(bytes: number): void {
    if (this.byteLength > bytes) ftruncateSync(this.fd, bytes);
  }

  close(): void {
    closeSync(this.fd);
  }
}

function onDisk<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOSPC' || code === 'EDQUOT')
      throw new CodedError('DISK_FULL', 'There is no room left on the disk for temporary files.', {
        cause: error,
      });
    throw error;
  }
}
