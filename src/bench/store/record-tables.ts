import type { Generated } from 'kysely';

/** The tables of records, their deliveries, and what was approved. Times are ISO 8601 in UTC. */
export interface RecordTables {
  records: RecordRow;
  deliveries: DeliveryRow;
  review_links: ReviewLinkRow;
  reviews: ReviewRow;
}

export interface RecordRow {
  seq: Generated<number>;
  id: string;
  /** JSON: src/deliver/record/record.ts, its sounds named by versions. */
  data: string;
  /** Of the picture among the files on the bench; null without one. */
  artwork_sha256: string | null;
  artwork_name: string | null;
  created_at: string;
  changed_at: string;
  deleted_at: string | null;
}

export interface DeliveryRow {
  seq: Generated<number>;
  id: string;
  record_id: string;
  folder: string;
  /** JSON: the record as it was when this was asked for. */
  data: string;
  state: 'running' | 'done' | 'refused' | 'failed' | 'stopped';
  /** JSON: what came of it. */
  result: string | null;
  error_code: string | null;
  error_message: string | null;
  created_at: string;
}

/** A link by which somebody may hear one version, approve it, or wish for something. */
export interface ReviewLinkRow {
  /** The first part of the token; of the other only the SHA-256 is kept. */
  selector: string;
  version_id: string;
  hash: string;
  /** Who it is for. */
  name: string;
  /** What they are told. */
  note: string;
  expires_at: string;
}

/** What somebody said of a version; never changed. */
export interface ReviewRow {
  seq: Generated<number>;
  id: string;
  version_id: string;
  /** Of the bytes that were heard. */
  sha256: string;
  what: 'approved' | 'wish' | 'withdrawn';
  by: string;
  text: string;
  /** Place in the song, s; null for the whole. */
  at_seconds: number | null;
  created_at: string;
}

/** Makes the tables: records and their deliveries; what was said of versions by those who got a link. */
export const recordMigration = `
  CREATE TABLE records (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    data TEXT NOT NULL,
    artwork_sha256 TEXT,
    artwork_name TEXT,
    created_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;

  CREATE TABLE deliveries (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    record_id TEXT NOT NULL REFERENCES records(id) ON DELETE CASCADE,
    folder TEXT NOT NULL,
    data TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('running', 'done', 'refused', 'failed', 'stopped')),
    result TEXT,
    error_code TEXT,
    error_message TEXT,
    created_at TEXT NOT NULL
  ) STRICT;
  CREATE INDEX deliveries_by_record ON deliveries(record_id);

  CREATE TABLE review_links (
    selector TEXT PRIMARY KEY,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    hash TEXT NOT NULL,
    name TEXT NOT NULL,
    note TEXT NOT NULL,
    expires_at TEXT NOT NULL
  ) STRICT;

  CREATE TABLE reviews (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    sha256 TEXT NOT NULL,
    what TEXT NOT NULL CHECK (what IN ('approved', 'wish', 'withdrawn')),
    by TEXT NOT NULL,
    text TEXT NOT NULL,
    at_seconds REAL,
    created_at TEXT NOT NULL
  ) STRICT;
  CREATE INDEX reviews_by_version ON reviews(version_id);
  `;
