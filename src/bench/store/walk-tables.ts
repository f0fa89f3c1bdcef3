import type { Generated } from 'kysely';

/** The tables of walks. Times are ISO 8601 in UTC. */
export interface WalkTables {
  walks: WalkRow;
  walk_references: WalkReferenceRow;
  walk_stops: WalkStopRow;
  walk_notes: WalkNoteRow;
  walk_links: WalkLinkRow;
}

export interface WalkRow {
  seq: Generated<number>;
  id: string;
  song_id: string;
  version_id: string;
  title: string;
  /** What notebooks know the walk by: chance. */
  notebook: string;
  /** JSON: the excerpts on the disk and what they were made of; null before they were made. */
  sounds: string | null;
  created_at: string;
  deleted_at: string | null;
}

export interface WalkReferenceRow {
  walk_id: string;
  /** From 0, in the order of listening. */
  position: number;
  /** null once it is gone for good; what was noted of it stays. */
  version_id: string | null;
}

export interface WalkStopRow {
  seq: Generated<number>;
  walk_id: string;
  /** Made by whoever added it: the bench, or a notebook that cannot reach the bench. */
  id: string;
  place_id: string | null;
  name: string;
  /** At first; what was noted later comes before it. */
  trust: number;
  deleted_at: string | null;
}

/** One note; never changed and never removed while the walk is there. */
export interface WalkNoteRow {
  seq: Generated<number>;
  walk_id: string;
  /** Chance: a note that comes twice is one. */
  key: string;
  stop_id: string;
  /** 'song', the number of a reference, or 'place' for what is said of the place itself. */
  subject: string;
  what: string;
  /** JSON. */
  value: string;
  /** When it was tapped. */
  at: string;
  device: string;
}

/** A link, or a page that is carried along: whoever has its token may read the notebook and add notes. */
export interface WalkLinkRow {
  /** The first part of the token; of the other only the SHA-256 is kept. */
  selector: string;
  walk_id: string;
  hash: string;
  expires_at: string;
}
