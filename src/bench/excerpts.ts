import { createHash } from 'node:crypto';
import { access, readdir, rm, stat, utimes } from 'node:fs/promises';
import { join } from 'node:path';
import { readSound } from '../audio/files/read-sound.ts';
import type { CodedPassage } from '../survive/excerpt-sound.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import { audioFilePath } from './audio-store.ts';
import { engineChoice } from './engine-choice.ts';
import type { Home } from './home.ts';
import { keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import { codedPassageTask } from './tasks/coded-passage.ts';

export interface Passage {
  readonly sha256: string;
  readonly format: LossyFormat;
  readonly startSeconds: number;
  readonly seconds: number;
}

/** Most bytes kept: some dozens of passages. Those not heard for longest go first. */
const mostBytes = 256 * 2 ** 20;

/** Passages of songs before and after lossy coding, coded when first asked for and kept for the next time. */
export class Excerpts {
  readonly #home: Home;
  readonly #pool: Pool;
  readonly #mostBytes: number;
  readonly #making = new Map<string, Promise<void>>();

  constructor(home: Home, pool: Pool, limitBytes: number = mostBytes) {
    this.#home = home;
    this.#pool = pool;
    this.#mostBytes = limitBytes;
  }

  /** Rejects with CodedError as codedPassageTask and Pool.run do. */
  async get(passage: Passage): Promise<CodedPassage> {
    const path = await this.#pathOf(passage);
    // Three requests for three parts of one passage are one piece of work.
    let making = this.#making.get(path);
    if (!making) {
      making = this.#make(passage, path).finally(() => this.#making.delete(path));
      this.#making.set(path, making);
    }
    await making;
    const { pcm } = await readSound(path);
    const half = pcm.channels.length / 2;
    const part = (from: number) => ({
      sampleRate: pcm.sampleRate,
      channels: pcm.channels.slice(from, from + half),
    });
    return { original: part(0), decoded: part(half) };
  }

  /** Removes passages of files that are no longer wanted. */
  async sweep(wanted: ReadonlySet<string>): Promise<void> {
    for (const name of await readdir(this.#home.excerptsPath))
      if (!wanted.has(name.split('-')[0])) await rm(join(this.#home.excerptsPath, name), { force: true });
  }

  async #pathOf({ sha256, ...what }: Passage): Promise<string> {
    const { name, version } = codedPassageTask;
    const key = keyJson({ ...what, engine: await engineChoice(), name, version });
    const hash = createHash('sha256').update(key).digest('hex');
    return join(this.#home.excerptsPath, `${sha256}-${hash}.wav`);
  }

  async #make(passage: Passage, path: string): Promise<void> {
    const there = await access(path).then(
      () => true,
      () => false,
    );
    if (there) {
      const now = new Date();
      return utimes(path, now, now);
    }
    const { sha256, ...options } = passage;
    await this.#pool.run(codedPassageTask, {
      files: [{ path: audioFilePath(this.#home, sha256) }],
      options: { ...options, engine: await engineChoice(), outPath: path },
    });
    await this.#trim(path);
  }

  /** Lets go of the passages heard longest ago until the rest has room; never of `newest`, which is about to be read. */
  async #trim(newest: string): Promise<void> {
    const names = await readdir(this.#home.excerptsPath);
    const files = await Promise.all(
      names.map(async (name) => {
        const path = join(this.#home.excerptsPath, name);
        const { size, mtimeMs } = await stat(path).catch(() => ({ size: 0, mtimeMs: 0 }));
        return { path, size, mtimeMs };
      }),
    );
    let bytes = files.reduce((sum, { size }) => sum + size, 0);
    for (const { path, size } of files.sort((a, b) => a.mtimeMs - b.mtimeMs)) {
      if (bytes <= this.#mostBytes) return;
      if (path === newest || this.#making.has(path)) continue;
      await rm(path, { force: true });
      bytes -= size;
    }
  }
}
