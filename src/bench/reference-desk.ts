import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import { z } from 'zod';
import { CodedError, type ErrorCode, errorCodes } from '../audio/coded-error.ts';
import { hashFile } from '../audio/files/hash-file.ts';
import { openSound } from '../audio/files/open-sound.ts';
import { Bench } from './bench.ts';
import { displayName, titleOf } from './display-name.ts';
import { type Home, openHome } from './home.ts';
import { findServer } from './running-server.ts';
import { openStore, type Store } from './store/database.ts';
import { Results } from './store/results.ts';
import { type ReferenceSet, Sets } from './store/sets.ts';
import { Songs } from './store/songs.ts';

const received = z.object({ version: z.object({ id: z.string(), songId: z.string() }) });
const refusal = z.object({ error: z.object({ code: z.string(), message: z.string() }) });

/**
 * The reference sets for a process that is not the server, also while that runs: several processes may write the database, yet
 * sound files come in through the one that owns the data folder.
 */
export class ReferenceDesk {
  readonly home: Home;
  readonly store: Store;
  readonly sets: Sets;
  readonly results: Results;
  readonly #songs: Songs;
  #bench: Promise<Bench> | undefined;

  private constructor(home: Home, store: Store) {
    this.home = home;
    this.store = store;
    this.sets = new Sets(store);
    this.results = new Results(store);
    this.#songs = new Songs(store, new Map());
  }

  /** Throws as openHome and openStore do. */
  static async open(homePath?: string): Promise<ReferenceDesk> {
    const home = await openHome(homePath);
    return new ReferenceDesk(home, openStore(home.databasePath));
  }

  async close(): Promise<void> {
    await (await this.#bench)?.close();
    await this.store.destroy();
  }

  /** By its name, however it is written, or its id. CodedError NOT_FOUND. */
  async find(name: string): Promise<ReferenceSet> {
    const sets = await this.sets.list();
    const wanted = name.trim().toLowerCase();
    const found = sets.find((set) => set.name.toLowerCase() === wanted || set.id === name);
    if (found) return found;
    const others = sets.map((set) => `“${set.name}”`).join(', ');
    throw new CodedError(
      'NOT_FOUND',
      `There is no reference set “${name}”. ${others === '' ? 'There are none yet.' : `There are: ${others}.`}`,
    );
  }

  /**
   * Brings a sound file to the bench as a reference; the version that is there already when its bytes are known as one.
   * Rejects with CodedError: as openSound, as Bench.open, or what the running server answers.
   */
  async bring(path: string, { name, title }: { name?: string; title?: string } = {}): Promise<string> {
    const sound = await openSound(path);
    await sound.close();
    const there = await this.#songs.findByBytes(await hashFile(path), 'reference');
    if (there) return there.id;
    const called = displayName(name ?? path);
    const { id, songId } = await this.#send(path, called);
    if (title !== undefined && title !== titleOf(called)) await this.#songs.rename(songId, title);
    return id;
  }

  async #send(path: string, name: string): Promise<{ id: string; songId: string }> {
    const url = this.#bench === undefined ? await findServer(this.home) : null;
    const stream = createReadStream(path);
    if (url !== null) return upload(url, stream, name);
    this.#bench ??= Bench.open({ homePath: this.home.path, idle: true });
    const bench = await this.#bench;
    const { version } = await bench.receive({
      stream,
      name,
      kind: 'reference',
      songId: undefined,
      maxBytes: Number.POSITIVE_INFINITY,
    });
    return version;
  }
}

async function upload(url: string, stream: Readable, name: string): Promise<{ id: string; songId: string }> {
  const query = new URLSearchParams({ name, kind: 'reference' });
  const request: RequestInit & { duplex: 'half' } = {
    method: 'POST',
    headers: { 'content-type': 'application/octet-stream' },
    body: Readable.toWeb(stream) as ReadableStream,
    duplex: 'half',
  };
  const answer = await fetch(`${url}/api/versions?${query}`, request);
  const body: unknown = await answer.json();
  if (answer.ok) return received.parse(body).version;
  const { code, message } = refusal.parse(body).error;
  throw new CodedError(code in errorCodes ? (code as ErrorCode) : 'INTERNAL', message);
}
