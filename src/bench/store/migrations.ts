import { recordMigration } from './record-tables.ts';

/**
 * The history of the database, oldest first; migration n leads to schema n (PRAGMA user_version). One that was
 * released is never edited: a change is a new one at the end.
 */
export const migrations: readonly string[] = [
  `
  CREATE TABLE songs (
    id TEXT PRIMARY KEY,
    title TEXT NOT NULL,
    demo_id TEXT UNIQUE,
    changed_at TEXT NOT NULL,
    change_seq INTEGER NOT NULL,
    deleted_at TEXT
  ) STRICT;

  CREATE TABLE files (
    sha256 TEXT PRIMARY KEY,
    bytes INTEGER NOT NULL
  ) STRICT;

  CREATE TABLE versions (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    song_id TEXT NOT NULL REFERENCES songs(id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('mix', 'master', 'reference')),
    sha256 TEXT NOT NULL REFERENCES files(sha256),
    added_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE INDEX versions_by_song ON versions(song_id, seq);
  CREATE INDEX versions_by_file ON versions(sha256);

  CREATE TABLE reports (
    version_id TEXT PRIMARY KEY REFERENCES versions(id) ON DELETE CASCADE,
    report TEXT NOT NULL,
    traces TEXT NOT NULL,
    verdict TEXT NOT NULL,
    made_at TEXT NOT NULL
  ) STRICT;

  CREATE TABLE jobs (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    lossy INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('queued', 'running', 'done', 'failed', 'cancelled')),
    stage TEXT NOT NULL,
    error_code TEXT,
    error_message TEXT,
    created_at TEXT NOT NULL
  ) STRICT;
  CREATE INDEX jobs_by_version ON jobs(version_id, seq);
  CREATE INDEX jobs_by_state ON jobs(state, seq);

  CREATE TABLE results (
    files TEXT NOT NULL,
    task TEXT NOT NULL,
    task_version INTEGER NOT NULL,
    options TEXT NOT NULL,
    result TEXT NOT NULL,
    created_at TEXT NOT NULL,
    PRIMARY KEY (files, task, task_version, options)
  ) STRICT;
  `,
  // What was kept was a report; from here on it is the facts that reports are judged from. Old ones count as measured
  // by version 0, so they are checked again.
  `
  ALTER TABLE reports RENAME COLUMN report TO facts;
  ALTER TABLE reports ADD COLUMN measured_by INTEGER NOT NULL DEFAULT 0;
  `,
  // Jobs of more than one kind, and what lossy coding did to a version. The report is written anew with every format
  // that ends, so that a run that is killed keeps what it had.
  `
  ALTER TABLE jobs ADD COLUMN kind TEXT NOT NULL DEFAULT 'check' CHECK (kind IN ('check', 'survive'));
  ALTER TABLE jobs ADD COLUMN settings TEXT;
  CREATE TABLE survivals (
    version_id TEXT PRIMARY KEY REFERENCES versions(id) ON DELETE CASCADE,
    settings TEXT NOT NULL,
    report TEXT NOT NULL,
    complete INTEGER NOT NULL,
    made_at TEXT NOT NULL
  ) STRICT;
  `,
  // The listening desk: reference sets, notes, the level, folders that are watched.
  `
  CREATE TABLE reference_sets (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE TABLE set_members (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    set_id TEXT NOT NULL REFERENCES reference_sets(id) ON DELETE CASCADE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    UNIQUE (set_id, version_id)
  ) STRICT;

  CREATE TABLE notes (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    at_seconds REAL NOT NULL,
    end_seconds REAL,
    text TEXT NOT NULL,
    created_at TEXT NOT NULL,
    deleted_at TEXT
  ) STRICT;
  CREATE INDEX notes_by_version ON notes(version_id);
  CREATE TABLE note_marks (
    note_id TEXT NOT NULL REFERENCES notes(id) ON DELETE CASCADE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    done INTEGER NOT NULL,
    at_seconds REAL,
    end_seconds REAL,
    PRIMARY KEY (note_id, version_id)
  ) STRICT;

  CREATE TABLE desk_level (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    calibration TEXT,
    listener TEXT NOT NULL,
    caution_read INTEGER NOT NULL
  ) STRICT;
  CREATE TABLE exposures (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    ended_at TEXT NOT NULL,
    seconds REAL NOT NULL,
    level_dbfs_a REAL NOT NULL,
    spl_db REAL
  ) STRICT;
  CREATE INDEX exposures_by_end ON exposures(ended_at);

  CREATE TABLE watch_folders (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    path TEXT NOT NULL UNIQUE
  ) STRICT;
  CREATE TABLE watch_files (
    watch_id TEXT NOT NULL REFERENCES watch_folders(id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    changed_ms REAL NOT NULL,
    PRIMARY KEY (watch_id, name)
  ) STRICT;
  CREATE TABLE watch_arrivals (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    file_name TEXT NOT NULL,
    version_id TEXT REFERENCES versions(id) ON DELETE SET NULL,
    how TEXT NOT NULL,
    lines TEXT NOT NULL
  ) STRICT;
  `,
  // Shoot-outs. Who made an entry is in a table of its own: nothing that answers voters reads it.
  `
  CREATE TABLE shootouts (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    song_id TEXT NOT NULL REFERENCES songs(id) ON DELETE CASCADE,
    mix_version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    title TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('preference', 'rating', 'abx')),
    question TEXT NOT NULL CHECK (question IN ('taste', 'damage')),
    seed TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('draft', 'open', 'revealed')),
    sections TEXT NOT NULL,
    most_listeners INTEGER,
    most_rounds INTEGER,
    fair_notes TEXT NOT NULL,
    created_at TEXT NOT NULL,
    revealed_at TEXT,
    deleted_at TEXT
  ) STRICT;
  CREATE INDEX shootouts_by_song ON shootouts(song_id);

  CREATE TABLE shootout_entries (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    shootout_id TEXT NOT NULL REFERENCES shootouts(id) ON DELETE CASCADE,
    version_id TEXT NOT NULL REFERENCES versions(id) ON DELETE CASCADE,
    notes TEXT NOT NULL,
    UNIQUE (shootout_id, version_id)
  ) STRICT;
  CREATE TABLE shootout_makers (
    entry_id TEXT PRIMARY KEY REFERENCES shootout_entries(id) ON DELETE CASCADE,
    maker TEXT NOT NULL,
    yours INTEGER NOT NULL
  ) STRICT;

  CREATE TABLE shootout_cuts (
    name TEXT PRIMARY KEY,
    shootout_id TEXT NOT NULL REFERENCES shootouts(id) ON DELETE CASCADE,
    section INTEGER NOT NULL,
    stimulus TEXT NOT NULL,
    UNIQUE (shootout_id, section, stimulus)
  ) STRICT;

  CREATE TABLE shootout_listeners (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL UNIQUE,
    shootout_id TEXT NOT NULL REFERENCES shootouts(id) ON DELETE CASCADE,
    slot INTEGER NOT NULL,
    name TEXT NOT NULL,
    place TEXT NOT NULL CHECK (place IN ('here', 'network', 'folder')),
    letters TEXT NOT NULL,
    token_selector TEXT UNIQUE,
    token_hash TEXT,
    token_expires_at TEXT,
    folder TEXT UNIQUE,
    folder_key TEXT,
    UNIQUE (shootout_id, slot)
  ) STRICT;
  CREATE TABLE shootout_rounds (
    handle TEXT PRIMARY KEY,
    listener_id TEXT NOT NULL REFERENCES shootout_listeners(id) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    round TEXT NOT NULL,
    UNIQUE (listener_id, number)
  ) STRICT;
  CREATE TABLE shootout_sounds (
    handle TEXT PRIMARY KEY,
    listener_id TEXT NOT NULL REFERENCES shootout_listeners(id) ON DELETE CASCADE,
    round TEXT NOT NULL REFERENCES shootout_rounds(handle) ON DELETE CASCADE,
    place INTEGER NOT NULL,
    cut TEXT NOT NULL REFERENCES shootout_cuts(name) ON DELETE CASCADE,
    UNIQUE (round, place)
  ) STRICT;
  CREATE INDEX shootout_sounds_by_listener ON shootout_sounds(listener_id);

  CREATE TABLE shootout_votes (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    round TEXT NOT NULL UNIQUE REFERENCES shootout_rounds(handle) ON DELETE CASCADE,
    listener_id TEXT NOT NULL REFERENCES shootout_listeners(id) ON DELETE CASCADE,
    answer TEXT NOT NULL,
    answered_at TEXT NOT NULL,
    request_key TEXT NOT NULL
  ) STRICT;
  CREATE INDEX shootout_votes_by_listener ON shootout_votes(listener_id);
  `,
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
  recordMigration,
];
