import { createHash } from 'node:crypto';
import { type FileHandle, open, readdir, rename, rm, stat, utimes } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { audioFilePath } from './audio-store.ts';
import type { Home } from './home.ts';
import { keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import { type PlaybackOptions, playbackFrameBytes, playbackTask } from './tasks/playback.ts';
import { readyTask } from './tasks/ready.ts';

/** Sound of one version as the desk plays it. */
export interface PlaybackSound extends Omit<PlaybackOptions, 'outPath'> {
  readonly sha256: string;
  /** What a person calls it, for sentences. */
  readonly name: string;
}

/** Most bytes kept: about an hour and a half at 48 kHz. What was not heard for longest goes first. */
const mostBytes = 2 * 2 ** 30;
/** How often it is noted that a file is being heard. */
const noteEveryMilliseconds = 60_000;

/** Sound made ready for the desk, made when first asked for, readable while it is being made, kept for the next time. */
export class Playback {
  readonly #home: Home;
  readonly #pool: Pool;
  readonly #mostBytes: number;
  readonly #making = new Map<string, Making>();
  readonly #noted = new Map<string, number>();

  constructor(home: Home, pool: Pool, limitBytes: number = mostBytes) {
    this.#home = home;
    this.#pool = pool;
    this.#mostBytes = limitBytes;
  }

  /**
   * Frames [from, from + frames) as interleaved 32-bit floats; zeros outside the sound. Answers as soon as these are on the
   * disk. Rejects with CodedError: FILE_NOT_FOUND (the version's file is gone), DISK_FULL, what reading the file gives.
   */
  async read(sound: PlaybackSound, from: number, frames: number): Promise<Uint8Array> {
    const bytes = new Uint8Array(frames * playbackFrameBytes);
    const first = Math.max(0, from);
    const last = Math.min(sound.frames, from + frames);
    if (last <= first) return bytes;
    const into = bytes.subarray((first - from) * playbackFrameBytes, (last - from) * playbackFrameBytes);
    const at = first * playbackFrameBytes;
    const path = this.#pathOf(sound);
    // Twice, because what is whole now may be cleared before it is opened.
    for (let attempt = 0; ; attempt++) {
      const making = this.#making.get(path);
      if (making) {
        await making.read(into, at);
        return bytes;
      }
      if (await this.#readWhole(sound, path, into, at)) return bytes;
      if (attempt === 2)
        throw new CodedError('FILE_READ_FAILED', `The sound of “${sound.name}” was cleared.`);
      if (!this.#making.has(path)) this.#make(sound, path);
    }
  }

  /** Begins to make it, unless it is there or being made; without any, only gets ready to. Never rejects. */
  async prepare(sound: PlaybackSound | null): Promise<void> {
    const path = sound && this.#pathOf(sound);
    const there = path && (this.#making.has(path) || (await stat(path).catch(() => null)) !== null);
    if (!path) await this.#pool.run(readyTask, { files: [], options: {} }).catch(() => {});
    else if (!there && !this.#making.has(path)) this.#make(sound, path);
  }

  /** How much room it takes. */
  async bytes(): Promise<number> {
    return (await this.#files()).reduce((sum, { size }) => sum + size, 0);
  }

  /** Removes everything but what is being made; it is made anew when asked for. */
  async clear(): Promise<void> {
    for (const { path } of await this.#files())
      if (!this.#making.has(finished(path))) await rm(path, { force: true });
  }

  /** Removes what an ended process left half made, and sound of files that are no longer wanted. */
  async sweep(wanted: ReadonlySet<string>): Promise<void> {
    for (const name of await readdir(this.#home.playbackPath))
      if (name.endsWith(unfinished) || !wanted.has(name.split('-')[0]))
        await rm(join(this.#home.playbackPath, name), { force: true });
  }

  #pathOf({ sha256, name: _name, ...what }: PlaybackSound): string {
    const { name, version } = playbackTask;
    const hash = createHash('sha256')
      .update(keyJson({ ...what, name, version }))
      .digest('hex');
    return join(this.#home.playbackPath, `${sha256}-${hash.slice(0, 40)}${whole}`);
  }

  async #readWhole(sound: PlaybackSound, path: string, into: Uint8Array, at: number): Promise<boolean> {
    const file = await open(path, 'r').catch(() => null);
    if (!file) return false;
    try {
      const { size } = await file.stat();
      // Only a file of its full length is one; a disk that lost its end is not believed.
      if (size !== sound.frames * playbackFrameBytes) {
        await rm(path, { force: true });
        return false;
      }
      await readFully(file, into, at);
      await this.#note(path);
      return true;
    } finally {
      await file.close();
    }
  }

  /** Marks it as heard now. */
  async #note(path: string): Promise<void> {
    const now = Date.now();
    if (now - (this.#noted.get(path) ?? 0) < noteEveryMilliseconds) return;
    this.#noted.set(path, now);
    await utimes(path, now / 1000, now / 1000).catch(() => {});
  }

  #make(sound: PlaybackSound, path: string): void {
    const part = `${path.slice(0, -whole.length)}${unfinished}`;
    const making = new Making(part);
    this.#making.set(path, making);
    making.ended(
      this.#run(sound, part, making)
        .then(async () => {
          await rename(part, path);
          this.#noted.set(path, Date.now());
        })
        .catch(async (error: unknown) => {
          await rm(part, { force: true });
          throw error;
        })
        .finally(() => this.#making.delete(path)),
    );
  }

  async #run({ sha256, name, ...options }: PlaybackSound, part: string, making: Making): Promise<void> {
    const source = audioFilePath(this.#home, sha256);
    if (!(await stat(source).catch(() => null)))
      throw new CodedError('FILE_NOT_FOUND', `The file of “${name}” is no longer on the disk.`);
    const input = { files: [{ path: source, sha256 }], options: { ...options, outPath: part } };
    const run = { progress: () => making.grown() };
    await this.#trim(options.frames * playbackFrameBytes);
    try {
      await this.#pool.run(playbackTask, input, run);
    } catch (error) {
      if (!(error instanceof CodedError) || error.code !== 'DISK_FULL') throw error;
      // Sound that can be made anew is no reason to be silent now.
      await rm(part, { force: true });
      if ((await this.#trim(Number.POSITIVE_INFINITY)) === 0) throw error;
      await this.#pool.run(playbackTask, input, run);
    }
  }

  /** Lets go of what was heard longest ago until `coming` more bytes have room; returns how many bytes went. */
  async #trim(coming: number): Promise<number> {
    const files = await this.#files();
    let bytes = files.reduce((sum, { size }) => sum + size, 0);
    let gone = 0;
    for (const { path, size } of files.sort((a, b) => a.mtimeMs - b.mtimeMs)) {
      if (bytes + coming <= this.#mostBytes) break;
      if (this.#making.has(finished(path))) continue;
      await rm(path, { force: true });
      this.#noted.delete(path);
      bytes -= size;
      gone += size;
    }
    return gone;
  }

  async #files(): Promise<{ path: string; size: number; mtimeMs: number }[]> {
    const names = await readdir(this.#home.playbackPath);
    return Promise.all(
      names.map(async (name) => {
        const path = join(this.#home.playbackPath, name);
        const { size, mtimeMs } = await stat(path).catch(() => ({ size: 0, mtimeMs: 0 }));
        return { path, size, mtimeMs };
      }),
    );
  }
}

const whole = '.f32';
/** A half file is never taken for a whole one: it has another name. */
const unfinished = '.part';

function finished(path: string): string {
  return path.endsWith(unfinished) ? `${path.slice(0, -unfinished.length)}${whole}` : path;
}

/** A file that is growing, and those who wait for a part of it. */
class Making {
  readonly #path: string;
  #waiting: (() => void)[] = [];
  #over = false;
  #done: Promise<void> = Promise.resolve();

  constructor(path: string) {
    this.#path = path;
  }

  get done(): Promise<void> {
    return this.#done;
  }

  ended(end: Promise<void>): void {
    this.#done = end.finally(() => {
      this.#over = true;
      this.grown();
    });
    this.#done.catch(() => {});
  }

  /** Told that there may be more of it. */
  grown(): void {
    const waiting = this.#waiting;
    this.#waiting = [];
    for (const go of waiting) go();
  }

  /** Fills `into` from the file's byte `at` on, as soon as they are there. Rejects as the making does. */
  async read(into: Uint8Array, at: number): Promise<void> {
    for (;;) {
      const grown = new Promise<void>((resolve) => {
        this.#waiting.push(resolve);
      });
      if (this.#over) await this.#done;
      const path = this.#over ? finished(this.#path) : this.#path;
      const file = await open(path, 'r').catch(() => null);
      if (file) {
        try {
          if ((await file.stat()).size >= at + into.length) return await readFully(file, into, at);
        } finally {
          await file.close();
        }
      }
      if (this.#over) throw new CodedError('FILE_READ_FAILED', 'The sound for the desk was cleared.');
      await grown;
    }
  }
}

async function readFully(file: FileHandle, into: Uint8Array, at: number): Promise<void> {
  for (let done = 0; done < into.length; ) {
    const { bytesRead } = await file.read(into, done, into.length - done, at + done);
    if (bytesRead === 0)
      throw new CodedError('FILE_READ_FAILED', 'The sound for the desk ends before it should.');
    done += bytesRead;
  }
}
