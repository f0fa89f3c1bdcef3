import { sql } from 'kysely';
import type { Round } from '../../shootout/shootout-shapes.ts';
import type { Store } from './database.ts';
import type { ShootoutListenerRow, ShootoutRow } from './shootout-tables.ts';

/** Who votes, and in what; nothing of makers, entries, versions or files is read here. */
export interface Voter {
  readonly listenerId: string;
  readonly shootoutId: string;
  readonly where: ShootoutListenerRow['place'];
  readonly kind: ShootoutRow['kind'];
  readonly question: ShootoutRow['question'];
  readonly open: boolean;
  readonly sections: readonly { readonly startSeconds: number; readonly endSeconds: number }[];
}

export interface VoterRoundRow {
  readonly handle: string;
  readonly number: number;
  readonly round: Round;
  readonly answered: boolean;
}

export interface NewVote {
  readonly listenerId: string;
  readonly round: string;
  readonly answer: unknown;
  readonly answeredAt: string;
  readonly requestKey: string;
  /** Only as the first that has no answer yet. */
  readonly inTurn: boolean;
}

/** The voter's side of the database. */
export class VotingStore {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  async findByToken(selector: string): Promise<{ voter: Voter; hash: string; expiresAt: string } | null> {
    const row = await this.#voters().where('token_selector', '=', selector).executeTakeFirst();
    if (!row || row.token_hash === null || row.token_expires_at === null) return null;
    return { voter: voterOf(row), hash: row.token_hash, expiresAt: row.token_expires_at };
  }

  async findByFolder(folder: string): Promise<{ voter: Voter; key: string } | null> {
    const row = await this.#voters().where('folder', '=', folder).executeTakeFirst();
    return row && row.folder_key !== null ? { voter: voterOf(row), key: row.folder_key } : null;
  }

  /** In order. */
  async rounds(listenerId: string): Promise<VoterRoundRow[]> {
    const rows = await this.#store
      .selectFrom('shootout_rounds')
      .leftJoin('shootout_votes', 'shootout_votes.round', 'shootout_rounds.handle')
      .select(['handle', 'number', 'shootout_rounds.round', 'shootout_votes.seq as vote'])
      .where('shootout_rounds.listener_id', '=', listenerId)
      .orderBy('number')
      .execute();
    return rows.map(({ handle, number, round, vote }) => ({
      handle,
      number,
      round: JSON.parse(round),
      answered: vote !== null,
    }));
  }

  /** Handle by place; -1 is the open reference. */
  async sounds(round: string): Promise<Map<number, { handle: string; cut: string }>> {
    const rows = await this.#store
      .selectFrom('shootout_sounds')
      .select(['place', 'handle', 'cut'])
      .where('round', '=', round)
      .execute();
    return new Map(rows.map(({ place, ...sound }) => [place, sound]));
  }

  /** The file behind a handle of this listener, in an open shoot-out. */
  async cut(listenerId: string, handle: string): Promise<string | null> {
    const row = await this.#store
      .selectFrom('shootout_sounds')
      .select('cut')
      .where('handle', '=', handle)
      .where('listener_id', '=', listenerId)
      .executeTakeFirst();
    return row?.cut ?? null;
  }

  /**
   * Takes an answer in, in one statement: only into an open shoot-out, only the first for a round. When this resolves with
   * true it is on the disk.
   */
  async vote({ listenerId, round, answer, answeredAt, requestKey, inTurn }: NewVote): Promise<boolean> {
    const { rows } = await sql<{ seq: number }>`
      INSERT INTO shootout_votes (round, listener_id, answer, answered_at, request_key)
      SELECT r.handle, l.id, ${JSON.stringify(answer)}, ${answeredAt}, ${requestKey}
      FROM shootout_rounds r
      JOIN shootout_listeners l ON l.id = r.listener_id
      JOIN shootouts s ON s.id = l.shootout_id
      WHERE r.handle = ${round} AND l.id = ${listenerId} AND s.state = 'open' AND s.deleted_at IS NULL
        AND (${Number(inTurn)} = 0 OR NOT EXISTS (
          SELECT 1 FROM shootout_rounds b
          WHERE b.listener_id = l.id AND b.number < r.number
            AND NOT EXISTS (SELECT 1 FROM shootout_votes v WHERE v.round = b.handle)))
      ON CONFLICT (round) DO NOTHING
      RETURNING seq
    `.execute(this.#store);
    return rows.length > 0;
  }

  /** Whether this listener's answers are still taken, now. */
  async isOpen(listenerId: string): Promise<boolean> {
    const row = await this.#voters()
      .where('shootout_listeners.id', '=', listenerId)
      .where('state', '=', 'open')
      .executeTakeFirst();
    return row !== undefined;
  }

  async voteOf(round: string): Promise<{ requestKey: string } | null> {
    const row = await this.#store
      .selectFrom('shootout_votes')
      .select('request_key')
      .where('round', '=', round)
      .executeTakeFirst();
    return row ? { requestKey: row.request_key } : null;
  }

  #voters() {
    return this.#store
      .selectFrom('shootout_listeners')
      .innerJoin('shootouts', 'shootouts.id', 'shootout_listeners.shootout_id')
      .innerJoin('songs', 'songs.id', 'shootouts.song_id')
      .select([
        'shootout_listeners.id as listener_id',
        'shootout_id',
        'place',
        'token_hash',
        'token_expires_at',
        'folder_key',
        'kind',
        'question',
        'state',
        'sections',
      ])
      .where('shootouts.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null);
  }
}

function voterOf(row: {
  listener_id: string;
  shootout_id: string;
  place: Voter['where'];
  kind: Voter['kind'];
  question: Voter['question'];
  state: ShootoutRow['state'];
  sections: string;
}): Voter {
  return {
    listenerId: row.listener_id,
    shootoutId: row.shootout_id,
    where: row.place,
    kind: row.kind,
    question: row.question,
    open: row.state === 'open',
    sections: JSON.parse(row.sections),
  };
}
