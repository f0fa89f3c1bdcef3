import type { ColumnType } from 'kysely';

/**
 * The tables of a catalogue, the same in SQLite and in Postgres; migrations.ts makes them. Times are milliseconds since
 * 1970 by the database's own clock, because the clocks of several machines differ.
 */
export interface CatalogueTables {
  catalogue_schema: { version: number };
  catalogue_runs: RunRow;
  catalogue_songs: SongRow;
  catalogue_findings: FindingRow;
  catalogue_facts: FactsRow;
  catalogue_workers: WorkerRow;
}

/** One check of a catalogue: what was asked for, and how far its listing and its work are. */
export interface RunRow {
  id: string;
  /** The folder or list, as it was named. */
  what: string;
  profile: string;
  kind: 'mix' | 'master' | 'reference';
  /** 1 with lossy round trips. */
  lossy: number;
  /** What measures: results of another engine are others (engine.ts). */
  engine: string;
  started_ms: number;
  /** When the last song was put on the list; null while it is being made, or when that was broken off. */
  listed_ms: number | null;
  /** When the last song had ended; null before. */
  ended_ms: number | null;
  /** The worker that lists it. */
  listed_by: string;
  /** Lines of the list that name a song named before. */
  repeats: number;
}

export type SongState = 'waiting' | 'working' | 'done' | 'failed' | 'stopped';

/** A song of a run: where it stands, and of its verdict what is sorted and filtered by. */
export interface SongRow {
  run_id: string;
  /** Its place in the list, from 1. */
  seq: number;
  /** Path or address (source-text.ts). */
  source: string;
  /** Hash of `source`: a path can be longer than an index takes. */
  source_key: string;
  name: string;
  /** `name` as it is sorted and searched: lower case, without accents. */
  sort_name: string;
  state: SongState;
  tries: number;
  /** Id of its job where a queue of its own keeps the order; '' elsewhere. */
  job: string;
  worker: string | null;
  /** Not to be taken before. */
  try_after_ms: number;
  sha256: string | null;
  error_code: string | null;
  error_message: string | null;
  /** 1: measured in this run; 0: known from before; null before it is done. */
  measured: number | null;
  /** What it cost the worker that ended it, by that worker's clock. */
  took_ms: number | null;
  ended_ms: number | null;
  worst: 'mend' | 'look' | 'fine' | null;
  headline: string | null;
  mend_count: number | null;
  look_count: number | null;
  integrated_lufs: number | null;
  true_peak_dbtp: number | null;
  plr_db: number | null;
  range_lu: number | null;
  tilt_db: number | null;
  seconds: number | null;
}

/** What a rule had to say of a song, where it was more than 'fine'. */
export interface FindingRow {
  run_id: string;
  rule: string;
  severity: 'mend' | 'look';
  seq: number;
  title: string;
}

/** What was measured of a file: kept by its content, judged whenever it is asked for. */
export interface FactsRow {
  sha256: string;
  engine: string;
  lossy: number;
  /** Facts without name, kind and traces: JSON, deflated (RFC 1951). */
  facts: ColumnType<Buffer, Buffer, never>;
  made_ms: number;
}

/** A process that works, or worked. */
export interface WorkerRow {
  id: string;
  machine: string;
  pid: number;
  engine: string;
  started_ms: number;
  /** When it last gave a sign of life. */
  seen_ms: number;
  ended_ms: number | null;
}
