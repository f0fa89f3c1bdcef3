import type { Generated } from 'kysely';

/** The tables of shoot-outs. Times are ISO 8601 in UTC. */
export interface ShootoutTables {
  shootouts: ShootoutRow;
  shootout_entries: ShootoutEntryRow;
  shootout_makers: ShootoutMakerRow;
  shootout_cuts: ShootoutCutRow;
  shootout_listeners: ShootoutListenerRow;
  shootout_rounds: ShootoutRoundRow;
  shootout_sounds: ShootoutSoundRow;
  shootout_votes: ShootoutVoteRow;
}

export interface ShootoutRow {
  seq: Generated<number>;
  id: string;
  song_id: string;
  mix_version_id: string;
  title: string;
  kind: 'preference' | 'rating' | 'abx';
  question: 'taste' | 'damage';
  /** Draws every order. */
  seed: string;
  state: 'draft' | 'open' | 'revealed';
  /** JSON: spans with labels, in the mix's time; from opening on, what all masters have of them. */
  sections: string;
  /** How it was opened; null before. */
  most_listeners: number | null;
  most_rounds: number | null;
  /** JSON array of sentences. */
  fair_notes: string;
  created_at: string;
  revealed_at: string | null;
  deleted_at: string | null;
}

export interface ShootoutEntryRow {
  seq: Generated<number>;
  id: string;
  shootout_id: string;
  version_id: string;
  /** JSON array of sentences. */
  notes: string;
}

/** Who made an entry. Nothing that answers voters reads this table. */
export interface ShootoutMakerRow {
  entry_id: string;
  maker: string;
  yours: number;
}

/** A fair cut on the disk: of an entry (its id), the reference or an anchor. */
export interface ShootoutCutRow {
  /** Of the file: chance, 26 letters and digits. */
  name: string;
  shootout_id: string;
  section: number;
  stimulus: string;
}

export interface ShootoutListenerRow {
  seq: Generated<number>;
  id: string;
  shootout_id: string;
  /** Which of the rounds drawn beforehand. */
  slot: number;
  name: string;
  place: 'here' | 'network' | 'folder';
  /** JSON array: what each entry is called to this listener. */
  letters: string;
  /** The first part of the link's token, by which it is found; the other part is kept as its SHA-256 only. null: no link. */
  token_selector: string | null;
  token_hash: string | null;
  token_expires_at: string | null;
  /** Of a listener far away: the folder's handle and the key that signs what it gives back. */
  folder: string | null;
  folder_key: string | null;
}

export interface ShootoutRoundRow {
  /** What the voter calls it. */
  handle: string;
  listener_id: string;
  /** From 0. */
  number: number;
  /** JSON: Round, with its answer key. */
  round: string;
}

export interface ShootoutSoundRow {
  handle: string;
  listener_id: string;
  round: string;
  /** In the order of the round; -1 is the open reference. */
  place: number;
  cut: string;
}

/** One answer a round: the database itself refuses a second. */
export interface ShootoutVoteRow {
  seq: Generated<number>;
  round: string;
  listener_id: string;
  /** JSON */
  answer: string;
  answered_at: string;
  /** Tells a request sent again from another answer. */
  request_key: string;
}
