import type { Insertable, Updateable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import type { Listener, Vote } from '../../shootout/shootout-shapes.ts';
import type { Store } from './database.ts';
import type { ShootoutListenerRow } from './shootout-tables.ts';

export interface NewListenerRows {
  readonly listener: Omit<Insertable<ShootoutListenerRow>, 'seq' | 'slot' | 'letters'>;
  /** What belongs to the first free slot. */
  readonly drawn: (slot: number) => {
    readonly letters: readonly string[];
    readonly rounds: readonly { readonly handle: string; readonly round: string }[];
    readonly sounds: readonly { handle: string; round: string; place: number; cut: string }[];
  };
}

/** Listeners of shoot-outs and what they answered, as their host sees them. */
export class ShootoutListeners {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** Gives a listener the first free slot of an open shoot-out. CodedError SHOOTOUT_STATE when there is none. */
  async add(shootoutId: string, { listener, drawn }: NewListenerRows): Promise<void> {
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

  async update(
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
  async withdraw(shootoutId: string, listenerId: string): Promise<void> {
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
}

function noListener(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such listener.');
}
