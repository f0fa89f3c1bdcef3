import type { Generated } from 'kysely';
import type { PlaceTables } from './place-tables.ts';
import type { RecordTables } from './record-tables.ts';
import type { ShootoutTables } from './shootout-tables.ts';
import type { WalkTables } from './walk-tables.ts';

/** The tables as the code of this release reads them; migrations.ts makes them. Times are ISO 8601 in UTC. */
export interface Tables extends ShootoutTables, PlaceTables, WalkTables, RecordTables {
  songs: SongRow;
  versions: VersionRow;
  files: FileRow;
  reports: ReportRow;
  jobs: JobRow;
  results: ResultRow;
  survivals: SurvivalRow;
  makings: MakingRow;
  drafts: DraftRow;
  reference_sets: ReferenceSetRow;
  set_members: SetMemberRow;
  notes: NoteRow;
  note_marks: NoteMarkRow;
  desk_level: DeskLevelRow;
  exposures: ExposureRow;
  watch_folders: WatchFolderRow;
  watch_files: WatchFileRow;
  watch_arrivals: WatchArrivalRow;
  chains: ChainRow;
  chain_steps: ChainStepRow;
  chain_snapshots: ChainSnapshotRow;
}

export interface SongRow {
  id: string;
  title: string;
  /** Id of the song in the demo record; null for the user's own. */
  demo_id: string | null;
  changed_at: string;
  /** Rises with every change, so that two changes in one millisecond keep their order. */
  change_seq: number;
  /** Set while deleted but still restorable. */
  deleted_at: string | null;
}

export interface VersionRow {
  /** Rises with every version and gives the order. */
  seq: Generated<number>;
  id: string;
  song_id: string;
  name: string;
  kind: 'mix' | 'master' | 'reference';
  sha256: string;
  added_at: string;
  deleted_at: string | null;
}

export interface FileRow {
  sha256: string;
  bytes: number;
}

/**
 * What the newest check of a version found. JSON texts: Facts without name, kind and traces, which live elsewhere;
 * Traces; Verdict. Reports are judged from the facts whenever they are asked for, so they follow the rules of the day.
 */
export interface ReportRow {
  version_id: string;
  facts: string;
  /** Version of the measuring that made it; a check by an older one is made again. */
  measured_by: number;
  traces: string;
  verdict: string;
  made_at: string;
}

export interface JobRow {
  seq: Generated<number>;
  id: string;
  version_id: string;
  kind: Generated<'check' | 'survive' | 'places' | 'finish' | 'loudness'>;
  /** Of a check: 1 with lossy round trips, 0 without. */
  lossy: number;
  /** What was asked for, as JSON (of a survive run: SurviveSettings). null for checks. */
  settings: Generated<string | null>;
  state: 'queued' | 'running' | 'done' | 'failed' | 'cancelled';
  stage: string;
  error_code: string | null;
  error_message: string | null;
  created_at: string;
}

/** What the newest survive run of a version found so far. JSON texts: SurviveSettings, SurviveReport. */
export interface SurvivalRow {
  version_id: string;
  settings: string;
  report: string;
  /** 1 once the run has come to its end. */
  complete: number;
  made_at: string;
}

/** How a version was finished here. JSON texts: the goals as they were asked for, FinishReport. */
export interface MakingRow {
  version_id: string;
  from_version_id: string;
  /** Which chain made it, as whoever asked calls it. */
  chain_id: string | null;
  goals: string;
  report: string;
  made_at: string;
}

/** A candidate of the newest loudness choice of a version: what was rendered, or why it could not be. */
export interface DraftRow {
  id: string;
  job_id: string;
  version_id: string;
  /** In the order asked for. */
  place: number;
  target_lufs: number;
  sha256: string | null;
  bytes: number;
  /** FinishReport as JSON; null when it could not be made. */
  report: string | null;
  /** { code, message } as JSON; null when it was made. */
  failure: string | null;
}

/** What a task made of some files with some options; kept because it never changes. */
export interface ResultRow {
  /** SHA-256 of each input file, joined by commas. */
  files: string;
  task: string;
  task_version: number;
  /** JSON with sorted keys. */
  options: string;
  result: string;
  created_at: string;
}

export interface ReferenceSetRow {
  seq: Generated<number>;
  id: string;
  name: string;
  changed_at: string;
  deleted_at: string | null;
}

export interface SetMemberRow {
  seq: Generated<number>;
  set_id: string;
  version_id: string;
}

/** A note where it was written. */
export interface NoteRow {
  seq: Generated<number>;
  id: string;
  version_id: string;
  at_seconds: number;
  end_seconds: number | null;
  text: string;
  created_at: string;
  deleted_at: string | null;
}

/** What was done about a note on one version: ticked off, or put to another place by hand. */
export interface NoteMarkRow {
  note_id: string;
  version_id: string;
  done: number;
  /** Where it was put by hand; null where it stands by alignment. */
  at_seconds: number | null;
  end_seconds: number | null;
}

export interface DeskLevelRow {
  one: 1;
  /** Calibration as JSON; null before one was made. */
  calibration: string | null;
  listener: 'adult' | 'sensitive';
  caution_read: number;
}

/** A stretch of listening. */
export interface ExposureRow {
  seq: Generated<number>;
  ended_at: string;
  seconds: number;
  level_dbfs_a: number;
  /** By the calibration of the time; null when there was none. */
  spl_db: number | null;
}

export interface WatchFolderRow {
  seq: Generated<number>;
  id: string;
  path: string;
}

/** A file in a watched folder that was dealt with as it then was: there before, taken, or refused. */
export interface WatchFileRow {
  watch_id: string;
  name: string;
  bytes: number;
  changed_ms: number;
}

export interface WatchArrivalRow {
  seq: Generated<number>;
  at: string;
  file_name: string;
  version_id: string | null;
  how: string;
  /** JSON array of sentences. */
  lines: string;
}

export interface ChainRow {
  seq: Generated<number>;
  id: string;
  version_id: string;
  name: string;
  /** Rises with every change, undo and redo: whoever changes the chain names the one that was seen. */
  revision: number;
  /** The step it stands at. */
  step: number;
  changed_at: string;
  deleted_at: string | null;
}

/** What a chain was at one time. Never changed but for `then_step`. JSON texts: Chain, array of sentences. */
export interface ChainStepRow {
  chain_id: string;
  step: number;
  /** The step it was made from; null for the first. */
  came_from: number | null;
  /** The step that was last undone to come here: where redoing goes. */
  then_step: number | null;
  chain: string;
  words: string;
  made_at: string;
}

export interface ChainSnapshotRow {
  seq: Generated<number>;
  id: string;
  chain_id: string;
  name: string;
  step: number;
  created_at: string;
}
