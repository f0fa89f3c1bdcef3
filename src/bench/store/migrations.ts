import { earlyMigrations } from './early-migrations.ts';
import { recordMigration } from './record-tables.ts';

/**
 * The history of the database, oldest first; migration n leads to schema n (PRAGMA user_version). One that was
 * released is never edited: a change is a new one at the end.
 */
export const migrations: readonly string[] = [
  ...earlyMigrations,
  // Places: the user's own, what they do to versions, and recordings measured there. What kinds of jobs there are is said by
  // the code alone from here on: a check on it would have to be made anew with each kind.
  `
  CREATE TABLE jobs_again (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    kind TEXT NOT NULL DEFAULT 'check',
    lossy INTEGER NOT NULL,
    settings TEXT,
    state TEXT NOT NULL CHECK (state IN ('queued', 'running', 'done', 'failed', 'cancelled')),
    stage TEXT NOT NULL,
    error_code TEXT,
    error_message TEXT,
    created_at TEXT NOT NULL
  ) STRICT;
  INSERT INTO jobs_again SELECT seq, id, version_id, kind, lossy, settings, state, stage, error_code, error_message, created_at FROM jobs;
  DROP TABLE jobs;
  ALTER TABLE jobs_again RENAME TO jobs;
  CREATE INDEX jobs_by_version ON jobs(version_id, seq);
  CREATE INDEX jobs_by_state ON jobs(state, seq);

  CREATE TABLE places (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    place TEXT NOT NULL,
    from_id TEXT,
    from_name TEXT,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE TABLE place_reports (
    version_id TEXT PRIMARY KEY REFERENCES versions(id) ON DELETE CASCADE,
    settings TEXT NOT NULL,
    report TEXT NOT NULL,
    made_of TEXT NOT NULL,
    made_at TEXT NOT NULL
  ) STRICT;
  CREATE TABLE measurings (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    settings TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
    error_code TEXT,
    error_message TEXT,
    recording_name TEXT,
    recording_sha256 TEXT,
    recording_bytes INTEGER,
    measured TEXT,
    place_id TEXT,
    created_at TEXT NOT NULL
  ) STRICT;
  `,
  // Finishing chains. Every change is a step that stays; undoing only goes back along `came_from`, and `then_step` is where redoing
  // goes.
  `
  CREATE TABLE chains (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    revision INTEGER NOT NULL,
    step INTEGER NOT NULL,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE INDEX chains_by_version ON chains(version_id);
  CREATE TABLE chain_steps (
    chain_id TEXT NOT NULL REFERENCES chains(id) ON DELETE CASCADE,
    step INTEGER NOT NULL,
    came_from INTEGER,
    then_step INTEGER,
    chain TEXT NOT NULL,
    words TEXT NOT NULL,
    made_at TEXT NOT NULL,
    PRIMARY KEY (chain_id, step)
  ) STRICT;
  CREATE TABLE chain_snapshots (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    chain_id TEXT NOT NULL REFERENCES chains(id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    step INTEGER NOT NULL,
    created_at TEXT NOT NULL
  ) STRICT;
  CREATE INDEX chain_snapshots_by_chain ON chain_snapshots(chain_id);
  `,
  // Walks. Notes are only ever added: what counts is the latest of a kind, and all are kept.
  `
  CREATE TABLE walks (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    song_id TEXT NOT NULL REFERENCES songs(id) ON DELETE CASCADE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    title TEXT NOT NULL,
    notebook TEXT NOT NULL UNIQUE,
    sounds TEXT,
    created_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE INDEX walks_by_song ON walks(song_id);

  CREATE TABLE walk_references (
    walk_id TEXT NOT NULL REFERENCES walks(id) ON DELETE CASCADE,
    position INTEGER NOT NULL,
    version_id TEXT REFERENCES versions(id) ON DELETE SET NULL,
    PRIMARY KEY (walk_id, position)
  ) STRICT;

  CREATE TABLE walk_stops (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    walk_id TEXT NOT NULL REFERENCES walks(id) ON DELETE CASCADE,
    id TEXT NOT NULL,
    place_id TEXT,
    name TEXT NOT NULL,
    trust REAL NOT NULL,
    deleted_at TEXT,
    UNIQUE (walk_id, id)
  ) STRICT;

  CREATE TABLE walk_notes (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    walk_id TEXT NOT NULL,
    key TEXT NOT NULL,
    stop_id TEXT NOT NULL,
    subject TEXT NOT NULL,
    what TEXT NOT NULL,
    value TEXT NOT NULL,
    at TEXT NOT NULL,
    device TEXT NOT NULL,
    UNIQUE (walk_id, key),
    FOREIGN KEY (walk_id, stop_id) REFERENCES walk_stops(walk_id, id) ON DELETE CASCADE
  ) STRICT;

  CREATE TABLE walk_links (
    selector TEXT PRIMARY KEY,
    walk_id TEXT NOT NULL REFERENCES walks(id) ON DELETE CASCADE,
    hash TEXT NOT NULL,
    expires_at TEXT NOT NULL
  ) STRICT;
  `,
  // Finishing: what was made of which version, and drafts at several loudnesses.
  `
  CREATE TABLE makings (
    version_id TEXT PRIMARY KEY REFERENCES versions(id) ON DELETE CASCADE,
    from_version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    chain_id TEXT,
    goals TEXT NOT NULL,
    report TEXT NOT NULL,
    made_at TEXT NOT NULL
  ) STRICT;
  CREATE INDEX makings_by_source ON makings(from_version_id);
  CREATE TABLE drafts (
    id TEXT PRIMARY KEY,
    job_id TEXT NOT NULL REFERENCES jobs(id) ON DELETE CASCADE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    place INTEGER NOT NULL,
    target_lufs REAL NOT NULL,
    sha256 TEXT,
    bytes INTEGER NOT NULL,
    report TEXT,
    failure TEXT,
    UNIQUE (job_id, place)
  ) STRICT;
  CREATE INDEX drafts_by_version ON drafts(version_id);
  `,
  recordMigration,
];
