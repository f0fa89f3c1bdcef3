/** The words in which two databases differ. */
export interface Dialect {
  readonly real: string;
  readonly bytes: string;
  readonly count: string;
  /** After a column of text: compared byte by byte, so that both sort alike. */
  readonly bytewise: string;
  /** After a table. */
  readonly strict: string;
  /** After an index over an expression of a column: has it answer for the column too, without a look at the row. */
  includes(column: string): string;
}

export const sqliteDialect: Dialect = {
  real: 'REAL',
  bytes: 'BLOB',
  count: 'INTEGER',
  bytewise: '',
  strict: ' STRICT',
  includes: () => '',
};

export const postgresDialect: Dialect = {
  real: 'DOUBLE PRECISION',
  bytes: 'BYTEA',
  count: 'BIGINT',
  bytewise: ' COLLATE "C"',
  strict: '',
  includes: (column) => ` INCLUDE (${column})`,
};

/** A song without a figure (silence, or it failed) is sorted as if it had this one: below every other. */
export const noFigure = -1e9;

/** Columns of figures that songs can be sorted by; each has an index of its own. */
export const figureColumns = [
  'integrated_lufs',
  'true_peak_dbtp',
  'plr_db',
  'range_lu',
  'tilt_db',
  'seconds',
  'mend_count',
  'took_ms',
] as const;

export type FigureColumn = (typeof figureColumns)[number];

/** What every release added, in order; each is a list of statements. */
export const migrations: readonly ((d: Dialect) => readonly string[])[] = [
  ({ real, bytes, count, bytewise, strict, includes }) => [
    `CREATE TABLE catalogue_runs (
      id TEXT PRIMARY KEY,
      what TEXT NOT NULL,
      profile TEXT NOT NULL,
      kind TEXT NOT NULL,
      lossy INTEGER NOT NULL,
      engine TEXT NOT NULL,
      started_ms ${count} NOT NULL,
      listed_ms ${count},
      ended_ms ${count},
      listed_by TEXT NOT NULL,
      repeats ${count} NOT NULL
    )${strict}`,
    `CREATE TABLE catalogue_songs (
      run_id TEXT NOT NULL REFERENCES catalogue_runs(id) ON DELETE CASCADE,
      seq ${count} NOT NULL,
      source TEXT NOT NULL,
      source_key TEXT${bytewise} NOT NULL,
      name TEXT NOT NULL,
      sort_name TEXT${bytewise} NOT NULL,
      state TEXT NOT NULL,
      tries INTEGER NOT NULL,
      job TEXT NOT NULL,
      worker TEXT,
      try_after_ms ${count} NOT NULL,
      sha256 TEXT,
      error_code TEXT,
      error_message TEXT,
      measured INTEGER,
      took_ms ${real},
      ended_ms ${count},
      worst TEXT,
      headline TEXT,
      mend_count INTEGER,
      look_count INTEGER,
      integrated_lufs ${real},
      true_peak_dbtp ${real},
      plr_db ${real},
      range_lu ${real},
      tilt_db ${real},
      seconds ${real},
      PRIMARY KEY (run_id, seq),
      UNIQUE (run_id, source_key)
    )${strict}`,
    'CREATE INDEX catalogue_songs_by_state ON catalogue_songs(run_id, state, worst, measured, seq)',
    // In the orders that songs are sorted by, with what they are filtered by at hand.
    'CREATE INDEX catalogue_songs_by_name ON catalogue_songs(run_id, sort_name, seq, state, worst)',
    "CREATE INDEX catalogue_songs_waiting ON catalogue_songs(try_after_ms, run_id, seq) WHERE state = 'waiting'",
    "CREATE INDEX catalogue_songs_working ON catalogue_songs(worker) WHERE state = 'working'",
    ...figureColumns.map(
      (column) =>
        `CREATE INDEX catalogue_songs_by_${column} ON catalogue_songs(run_id, (COALESCE(${column}, ${noFigure})), seq, state, worst)${includes(column)}`,
    ),
    `CREATE TABLE catalogue_findings (
      run_id TEXT NOT NULL REFERENCES catalogue_runs(id) ON DELETE CASCADE,
      rule TEXT${bytewise} NOT NULL,
      severity TEXT NOT NULL,
      seq ${count} NOT NULL,
      title TEXT NOT NULL,
      PRIMARY KEY (run_id, rule, severity, seq)
    )${strict}`,
    'CREATE INDEX catalogue_findings_by_song ON catalogue_findings(run_id, seq)',
    `CREATE TABLE catalogue_facts (
      sha256 TEXT NOT NULL,
      engine TEXT NOT NULL,
      lossy INTEGER NOT NULL,
      facts ${bytes} NOT NULL,
      made_ms ${count} NOT NULL,
      PRIMARY KEY (sha256, engine, lossy)
    )${strict}`,
    `CREATE TABLE catalogue_workers (
      id TEXT PRIMARY KEY,
      machine TEXT NOT NULL,
      pid INTEGER NOT NULL,
      engine TEXT NOT NULL,
      started_ms ${count} NOT NULL,
      seen_ms ${count} NOT NULL,
      ended_ms ${count}
    )${strict}`,
  ],
];
