import type { Kysely, RawBuilder, Transaction } from 'kysely';
import type { CatalogueTables } from './tables.ts';

export type CatalogueDb = Kysely<CatalogueTables>;
export type CatalogueTx = Transaction<CatalogueTables>;

/** A song that a worker has in hand. */
export interface TakenSong {
  readonly runId: string;
  readonly seq: number;
  readonly source: string;
  readonly name: string;
  readonly job: string;
  /** Which try this is, from 1. */
  readonly tries: number;
}

/** A song's place in a queue. */
export type QueuedSong = Pick<TakenSong, 'runId' | 'seq' | 'job'>;

/**
 * The order in which songs are worked on, and who has which. The rows of the songs are the truth; a queue only hands them out,
 * and takes part in the transactions that change them. Songs are handed only to workers of their run's engine.
 */
export interface SongQueue {
  /** Makes ready what songs of this engine need. Outside of transactions. */
  prepare(engine: string): Promise<void>;
  /** Ids for songs that are about to be listed; '' where the queue needs none. */
  newJob(): string;
  /** New songs, in the transaction that lists them. */
  put(tx: CatalogueTx, engine: string, songs: readonly QueuedSong[]): Promise<void>;
  /** Marks up to `count` waiting songs as worked on by `worker`, each counted as a try, and gives them. Oldest first. */
  take(worker: string, engine: string, count: number): Promise<TakenSong[]>;
  /** These have ended, well or not; in the transaction that says so. */
  settle(tx: CatalogueTx, engine: string, songs: readonly QueuedSong[]): Promise<void>;
  /** These wait again, after the pause between tries; in the transaction that says so. */
  again(tx: CatalogueTx, engine: string, songs: readonly QueuedSong[]): Promise<void>;
}

/** A database with a queue: all in which SQLite and Postgres differ. */
export interface Adapter {
  readonly kind: 'sqlite' | 'postgres';
  readonly db: CatalogueDb;
  readonly queue: SongQueue;
  /** Between a try that failed and the next, ms. */
  readonly pauseMs: number;
  /** The database's clock, ms since 1970. */
  now(): RawBuilder<number>;
  /** Whether an error says that the database is away, which may pass. */
  isAway(error: unknown): boolean;
  /** What an error is to a person. */
  explain(error: unknown): unknown;
  close(): Promise<void>;
}
