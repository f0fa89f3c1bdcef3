import type { Insertable, Selectable, Updateable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import type { Listener, Vote } from '../../shootout/shootout-shapes.ts';
import { newId } from '../ids.ts';
import type { Store } from './database.ts';
import type { ShootoutCutRow, ShootoutListenerRow, ShootoutRow } from './shootout-tables.ts';

/** A stretch that is listened to. */
export interface ShootoutSection {
  readonly startSeconds: number;
  readonly endSeconds: number;
  readonly label: string;
}

/** A shoot-out as the bench keeps it. `seed` and what follows from it is for nobody before the reveal. */
export interface ShootoutRecord {
  readonly id: string;
  readonly songId: string;
  readonly songTitle: string;
  readonly mix: { readonly versionId: string; readonly name: string; readonly sha256: string };
  readonly title: string;
  readonly kind: ShootoutRow['kind'];
  readonly question: ShootoutRow['question'];
  readonly seed: string;
  readonly state: ShootoutRow['state'];
  readonly sections: readonly ShootoutSection[];
  /** How many listeners' rounds were drawn, and how many rounds were asked for; null before opening. */
  readonly mostListeners: number | null;
  readonly mostRounds: number | null;
  readonly fairNotes: readonly string[];
  readonly createdAt: string;
  readonly revealedAt: string | null;
  readonly entries: readonly EntryRecord[];
  readonly listeners: readonly ListenerRecord[];
}

export interface EntryRecord {
  readonly id: string;
  readonly versionId: string;
  readonly versionName: string;
  readonly sha256: string;
  readonly maker: string;
  readonly yours: boolean;
  readonly notes: readonly string[];
}

export interface ListenerRecord {
  readonly id: string;
  readonly name: string;
  readonly where: ShootoutListenerRow['place'];
  readonly rounds: number;
  readonly answered: number;
  readonly linkExpiresAt: string | null;
}

export interface NewListenerRows {
  readonly listener: Omit<Insertable<ShootoutListenerRow>, 'seq' | 'slot' | 'letters'>;
  /** What belongs to the first free slot. */
  readonly drawn: (slot: number) => {
    readonly letters: readonly string[];
    readonly rounds: readonly { readonly handle: string; readonly round: string }[];
    readonly sounds: readonly { handle: string; round: string; place: number; cut: string }[];
  };
}

/** Shoot-outs in the database, as their host sees them. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class ShootoutStore {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** Newest first. */
  async list(songId?: string): Promise<ShootoutRecord[]> {
    let query = this.#rows().orderBy('shootouts.seq', 'desc');
    if (songId !== undefined) query = query.where('shootouts.song_id', '=', songId);
    return Promise.all((await query.execute()).map((row) => this.#record(row)));
  }

  async get(id: string): Promise<ShootoutRecord> {
    const row = await this.#rows().where('shootouts.id', '=', id).executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such shoot-out.');
    return this.#record(row);
  }

  async add(row: Omit<Insertable<ShootoutRow>, 'id' | 'seq'>): Promise<string> {
    const id = newId();
    await this.#store
      .insertInto('shootouts')
      .values({ ...row, id })
      .execute();
    return id;
  }

  async update(id: string, values: Updateable<ShootoutRow>): Promise<void> {
    if (Object.values(values).every((value) => value === undefined)) return;
    await this.#store.updateTable('shootouts').set(values).where('id', '=', id).execute();
  }

  /** In one step: from here on its cuts are on the disk and its entries stay. False when it is no draft any more. */
  async open(
    id: string,
    values: Pick<Updateable<ShootoutRow>, 'sections' | 'most_listeners' | 'most_rounds' | 'fair_notes'>,
    cuts: readonly Omit<ShootoutCutRow, 'shootout_id'>[],
  ): Promise<boolean> {
    return this.#store.transaction().execute(async (tx) => {
      const { numUpdatedRows } = await tx
        .updateTable('shootouts')
        .set({ ...values, state: 'open' })
        .where('id', '=', id)
        .where('state', '=', 'draft')
        .executeTakeFirst();
      if (numUpdatedRows === 0n) return false;
      await tx
        .insertInto('shootout_cuts')
        .values(cuts.map((cut) => ({ ...cut, shootout_id: id })))
        .execute();
      return true;
    });
  }

  /** True when this ended the voting; false when it was not open. */
  async reveal(id: string): Promise<boolean> {
    const { numUpdatedRows } = await this.#store
      .updateTable('shootouts')
      .set({ state: 'revealed', revealed_at: new Date().toISOString() })
      .where('id', '=', id)
      .where('state', '=', 'open')
      .executeTakeFirst();
    return numUpdatedRows > 0n;
  }

  async delete(id: string): Promise<void> {
    await this.get(id);
    await this.update(id, { deleted_at: new Date().toISOString() });
  }

  async restore(id: string): Promise<void> {
    await this.update(id, { deleted_at: null });
    await this.get(id);
  }

  /** Ends for good what was deleted before `before`; returns the ids of those that are still wanted. */
  async purge(before: string): Promise<Set<string>> {
    await this.#store.deleteFrom('shootouts').where('deleted_at', '<', before).execute();
    return new Set((await this.#store.selectFrom('shootouts').select('id').execute()).map(({ id }) => id));
  }

  async addEntry(
    shootoutId: string,
    { versionId, maker, yours, notes }: Pick<EntryRecord, 'versionId' | 'maker' | 'yours' | 'notes'>,
  ): Promise<string> {
    const id = newId();
    await this.#store.transaction().execute(async (tx) => {
      const added = await tx
        .insertInto('shootout_entries')
        .columns(['id', 'shootout_id', 'version_id', 'notes'])
        .expression((from) =>
          from
            .selectFrom('shootouts')
            .select((e) => [
              e.val(id).as('id'),
              'shootouts.id as shootout_id',
              e.val(versionId).as('version_id'),
              e.val(JSON.stringify(notes)).as('notes'),
            ])
            .where('shootouts.id', '=', shootoutId)
            .where('state', '=', 'draft'),
        )
        .onConflict((conflict) => conflict.doNothing())
        .executeTakeFirst();
      if ((added.numInsertedOrUpdatedRows ?? 0n) === 0n)
        throw new CodedError(
          'SHOOTOUT_STATE',
          'It was not taken: that very sound is in the shoot-out already, or it has been opened in the meantime.',
        );
      await tx.insertInto('shootout_makers').values({ entry_id: id, maker, yours: 0 }).execute();
    });
    if (yours) await this.updateEntry(shootoutId, id, { yours });
    return id;
  }

  async updateEntry(
    shootoutId: string,
    entryId: string,
    { maker, yours }: { maker?: string; yours?: boolean },
  ): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      const own = () => tx.selectFrom('shootout_entries').select('id').where('shootout_id', '=', shootoutId);
      if (yours === true)
        await tx.updateTable('shootout_makers').set({ yours: 0 }).where('entry_id', 'in', own()).execute();
      const { numUpdatedRows } = await tx
        .updateTable('shootout_makers')
        .set((e) => ({
          maker: maker ?? e.ref('maker'),
          yours: yours === undefined ? e.ref('yours') : Number(yours),
        }))
        .where('entry_id', '=', entryId)
        .where('entry_id', 'in', own())
        .executeTakeFirst();
      if (numUpdatedRows === 0n) throw noEntry();
    });
  }

  async removeEntry(shootoutId: string, entryId: string): Promise<void> {
    const { numDeletedRows } = await this.#store
      .deleteFrom('shootout_entries')
      .where('id', '=', entryId)
      .where('shootout_id', 'in', (query) =>
        query.selectFrom('shootouts').select('id').where('id', '=', shootoutId).where('state', '=', 'draft'),
      )
      .executeTakeFirst();
    if (numDeletedRows === 0n) throw noEntry();
  }

  cuts(shootoutId: string): Promise<Omit<ShootoutCutRow, 'shootout_id'>[]> {
    return this.#store
      .selectFrom('shootout_cuts')
      .select(['name', 'section', 'stimulus'])
      .where('shootout_id', '=', shootoutId)
      .execute();
  }

  /** Gives a listener the first free slot of an open shoot-out. CodedError SHOOTOUT_STATE when there is none. */
  async addListener(shootoutId: string, { listener, drawn }: NewListenerRows): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      // A write first: two that come at once wait for each other here.
      await tx
        .updateTable('shootouts')
        .set((e) => ({ state: e.ref('state') }))
        .where('id', '=', shootoutId)
        .execute();
      const shootout = await tx
        .selectFrom('shootouts')
        .select(['state', 'most_listeners'])
        .where('id', '=', shootoutId)
        .executeTakeFirstOrThrow();
      if (shootout.state !== 'open')
        throw new CodedError('SHOOTOUT_STATE', 'Listeners can be asked while the shoot-out is open.');
      const taken = new Set(
        (
          await tx
            .selectFrom('shootout_listeners')
            .select('slot')
            .where('shootout_id', '=', shootoutId)
            .execute()
        ).map(({ slot }) => slot),
      );
      const slot = Array.from({ length: shootout.most_listeners ?? 0 }, (_, i) => i).find(
        (each) => !taken.has(each),
      );
      if (slot === undefined)
        throw new CodedError(
          'SHOOTOUT_STATE',
          `Rounds were drawn for ${shootout.most_listeners} listeners, and so many there are.`,
        );
      const { letters, rounds, sounds } = drawn(slot);
      await tx
        .insertInto('shootout_listeners')
        .values({ ...listener, slot, letters: JSON.stringify(letters) })
        .execute();
      await tx
        .insertInto('shootout_rounds')
        .values(rounds.map((round, number) => ({ ...round, number, listener_id: listener.id })))
        .execute();
      for (let at = 0; at < sounds.length; at += 200)
        await tx
          .insertInto('shootout_sounds')
          .values(sounds.slice(at, at + 200).map((sound) => ({ ...sound, listener_id: listener.id })))
          .execute();
    });
  }

  async updateListener(
    shootoutId: string,
    listenerId: string,
    values: Pick<
      Updateable<ShootoutListenerRow>,
      'name' | 'token_selector' | 'token_hash' | 'token_expires_at'
    >,
  ): Promise<void> {
    const { numUpdatedRows } = await this.#store
      .updateTable('shootout_listeners')
      .set(values)
      .where('id', '=', listenerId)
      .where('shootout_id', '=', shootoutId)
      .executeTakeFirst();
    if (numUpdatedRows === 0n) throw noListener();
  }

  /** Removes who has not voted; withdraws the link or folder of who has. */
  async withdrawListener(shootoutId: string, listenerId: string): Promise<void> {
    const withdrawn = { token_selector: null, token_hash: null, token_expires_at: null, folder: null };
    await this.#store.transaction().execute(async (tx) => {
      const updated = await tx
        .updateTable('shootout_listeners')
        .set({ ...withdrawn, folder_key: null })
        .where('id', '=', listenerId)
        .where('shootout_id', '=', shootoutId)
        .executeTakeFirst();
      if (updated.numUpdatedRows === 0n) throw noListener();
      await tx
        .deleteFrom('shootout_listeners')
        .where('id', '=', listenerId)
        .where('id', 'not in', (query) => query.selectFrom('shootout_votes').select('listener_id'))
        .execute();
    });
  }

  /** Listeners with their rounds and all that was answered, in the order in which it was taken in. */
  async votes(
    shootoutId: string,
  ): Promise<{ listeners: Pick<Listener, 'id' | 'name' | 'letters' | 'rounds'>[]; votes: Vote[] }> {
    const listeners = await this.#store
      .selectFrom('shootout_listeners')
      .select(['id', 'name', 'letters'])
      .where('shootout_id', '=', shootoutId)
      .orderBy('slot')
      .execute();
    const ids = listeners.map(({ id }) => id);
    if (ids.length === 0) return { listeners: [], votes: [] };
    const rounds = await this.#store
      .selectFrom('shootout_rounds')
      .select(['listener_id', 'round'])
      .where('listener_id', 'in', ids)
      .orderBy('number')
      .execute();
    const votes = await this.#store
      .selectFrom('shootout_votes')
      .innerJoin('shootout_rounds', 'shootout_rounds.handle', 'shootout_votes.round')
      .select(['shootout_votes.listener_id', 'shootout_rounds.round', 'answer', 'answered_at'])
      .where('shootout_votes.listener_id', 'in', ids)
      .orderBy('shootout_votes.seq')
      .execute();
    return {
      listeners: listeners.map(({ id, name, letters }) => ({
        id,
        name,
        letters: JSON.parse(letters) as string[],
        rounds: rounds.flatMap((row) => (row.listener_id === id ? [JSON.parse(row.round)] : [])),
      })),
      votes: votes.map(({ listener_id, round, answer, answered_at }) => ({
        listenerId: listener_id,
        roundId: JSON.parse(round).id,
        answer: JSON.parse(answer),
        answeredAt: answered_at,
      })),
    };
  }

  #rows() {
    return this.#store
      .selectFrom('shootouts')
      .innerJoin('songs', 'songs.id', 'shootouts.song_id')
      .innerJoin('versions as mix', 'mix.id', 'shootouts.mix_version_id')
      .selectAll('shootouts')
      .select(['songs.title as song_title', 'mix.name as mix_name', 'mix.sha256 as mix_sha256'])
      .where('shootouts.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null);
  }

  async #record(
    row: Selectable<ShootoutRow> & { song_title: string; mix_name: string; mix_sha256: string },
  ): Promise<ShootoutRecord> {
    const entries = await this.#store
      .selectFrom('shootout_entries')
      .innerJoin('versions', 'versions.id', 'shootout_entries.version_id')
      .innerJoin('shootout_makers', 'shootout_makers.entry_id', 'shootout_entries.id')
      .select(['shootout_entries.id', 'version_id', 'versions.name', 'sha256', 'maker', 'yours', 'notes'])
      .where('shootout_id', '=', row.id)
      .orderBy('shootout_entries.seq')
      .execute();
    const listeners = await this.#store
      .selectFrom('shootout_listeners')
      .select((e) => [
        'id',
        'name',
        'place',
        'token_expires_at',
        e
          .selectFrom('shootout_rounds')
          .whereRef('listener_id', '=', 'shootout_listeners.id')
          .select((count) => count.fn.countAll<number>().as('n'))
          .as('rounds'),
        e
          .selectFrom('shootout_votes')
          .whereRef('listener_id', '=', 'shootout_listeners.id')
          .select((count) => count.fn.countAll<number>().as('n'))
          .as('answered'),
      ])
      .where('shootout_id', '=', row.id)
      .orderBy('slot')
      .execute();
    return {
      id: row.id,
      songId: row.song_id,
      songTitle: row.song_title,
      mix: { versionId: row.mix_version_id, name: row.mix_name, sha256: row.mix_sha256 },
      title: row.title,
      kind: row.kind,
      question: row.question,
      seed: row.seed,
      state: row.state,
      sections: JSON.parse(row.sections),
      mostListeners: row.most_listeners,
      mostRounds: row.most_rounds,
      fairNotes: JSON.parse(row.fair_notes),
      createdAt: row.created_at,
      revealedAt: row.revealed_at,
      entries: entries.map((entry) => ({
        id: entry.id,
        versionId: entry.version_id,
        versionName: entry.name,
        sha256: entry.sha256,
        maker: entry.maker,
        yours: entry.yours === 1,
        notes: JSON.parse(entry.notes),
      })),
      listeners: listeners.map((listener) => ({
        id: listener.id,
        name: listener.name,
        where: listener.place,
        rounds: Number(listener.rounds),
        answered: Number(listener.answered),
        linkExpiresAt: listener.token_expires_at,
      })),
    };
  }
}

function noEntry(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such entry, or the shoot-out is no draft any more.');
}

function noListener(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such listener.');
}
