import type { Selectable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { type Chain, readChain } from '../../finish/chain.ts';
import { chainChanges } from '../../finish/chain-words.ts';
import { newId } from '../ids.ts';
import { exactJson } from '../json.ts';
import type { Store } from './database.ts';
import type { ChainRow, ChainStepRow } from './tables.ts';

/** A chain as it is listed. */
export interface ChainSummary {
  readonly id: string;
  readonly songId: string;
  readonly versionId: string;
  readonly versionName: string;
  readonly name: string;
  /** How many parts it has now. */
  readonly parts: number;
  readonly changedAt: string;
}

export interface ChainDetail extends Omit<ChainSummary, 'parts'> {
  readonly revision: number;
  readonly step: number;
  readonly chain: Chain;
  /** What undoing takes back and redoing makes again, in words; null where there is nothing to. */
  readonly undo: string[] | null;
  readonly redo: string[] | null;
  /** Oldest first. */
  readonly snapshots: ChainSnapshot[];
}

export interface ChainSnapshot {
  readonly id: string;
  readonly name: string;
  readonly step: number;
  readonly createdAt: string;
}

/** What a chain was at one time. */
export interface ChainStep {
  readonly step: number;
  /** The step it was made from; null for the first. */
  readonly from: number | null;
  readonly words: string[];
  readonly madeAt: string;
}

/** Steps listed at once. */
const stepsAtOnce = 100;

/**
 * Chains in the database, with all they ever were: a tree of steps, of which one is the present. Deleted ones are only hidden, until
 * purge. Missing ones: CodedError NOT_FOUND. Whoever changes a chain names the revision that was seen; when another change came first,
 * CHAIN_CONFLICT, and nothing is changed.
 */
export class Chains {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** Of all versions of a song that are not deleted; changed last first. */
  async ofSong(songId: string): Promise<ChainSummary[]> {
    const rows = await this.#listed()
      .where('versions.song_id', '=', songId)
      .innerJoin('chain_steps', (join) =>
        join.onRef('chain_steps.chain_id', '=', 'chains.id').onRef('chain_steps.step', '=', 'chains.step'),
      )
      .select('chain_steps.chain')
      .orderBy('chains.changed_at', 'desc')
      .orderBy('chains.seq', 'desc')
      .execute();
    return rows.map(({ chain, ...row }) => ({ ...headOf(row), parts: chainOf(chain).parts.length }));
  }

  async get(id: string): Promise<ChainDetail> {
    const row = await this.#listed().where('chains.id', '=', id).executeTakeFirst();
    if (!row) throw noChain();
    const now = await stepOf(this.#store, id, row.step);
    const next = now.then_step === null ? null : await stepOf(this.#store, id, now.then_step);
    const snapshots = await this.#store
      .selectFrom('chain_snapshots')
      .select(['id', 'name', 'step', 'created_at as createdAt'])
      .where('chain_id', '=', id)
      .orderBy('seq')
      .execute();
    return {
      ...headOf(row),
      revision: row.revision,
      step: row.step,
      chain: chainOf(now.chain),
      undo: now.came_from === null ? null : wordsOf(now),
      redo: next && wordsOf(next),
      snapshots,
    };
  }

  /** @param name null for the first that is free of 'Chain 1', 'Chain 2', ... */
  async add(versionId: string, name: string | null, chain: Chain, words: readonly string[]): Promise<string> {
    const id = newId();
    await this.#store.transaction().execute(async (tx) => {
      await tx
        .insertInto('chains')
        .values({
          id,
          version_id: versionId,
          name: name ?? (await freeName(tx, versionId)),
          revision: 0,
          step: 0,
          changed_at: now(),
          deleted_at: null,
        })
        .execute();
      await insertStep(tx, { chain_id: id, step: 0, came_from: null, chain, words });
    });
    return id;
  }

  async rename(id: string, name: string): Promise<void> {
    await this.#update(id, { name });
  }

  async delete(id: string): Promise<void> {
    await this.#update(id, { deleted_at: now() });
  }

  async restore(id: string): Promise<void> {
    await this.#update(id, { deleted_at: null }, true);
  }

  /**
   * One more step; none where the chain is what it was.
   * @param why what is said before the changes themselves
   */
  async change(id: string, revision: number, chain: Chain, why: readonly string[] = []): Promise<void> {
    await this.#move(id, revision, async (tx, at) => {
      const changes = chainChanges(chainOf(at.chain), chain);
      if (changes.length === 0) return null;
      const { last } = await tx
        .selectFrom('chain_steps')
        .select(({ fn }) => fn.max('step').as('last'))
        .where('chain_id', '=', id)
        .executeTakeFirstOrThrow();
      const step = Number(last) + 1;
      await insertStep(tx, { chain_id: id, step, came_from: at.step, chain, words: [...why, ...changes] });
      return step;
    });
  }

  /** Back to the step this one was made from; nothing happens at the first. */
  async undo(id: string, revision: number): Promise<void> {
    await this.#move(id, revision, async (tx, at) => {
      if (at.came_from === null) return null;
      await tx
        .updateTable('chain_steps')
        .set({ then_step: at.step })
        .where('chain_id', '=', id)
        .where('step', '=', at.came_from)
        .execute();
      return at.came_from;
    });
  }

  /** Forward to what was undone last; nothing happens where nothing was. */
  async redo(id: string, revision: number): Promise<void> {
    await this.#move(id, revision, async (_tx, at) => at.then_step);
  }

  async stepAt(id: string, step: number): Promise<ChainStep & { readonly chain: Chain }> {
    const row = await stepOf(this.#store, id, step);
    return { ...listedStep(row), chain: chainOf(row.chain) };
  }

  /** Newest first. @param before only steps before this one */
  async steps(id: string, before?: number): Promise<{ steps: ChainStep[]; more: boolean }> {
    let asked = this.#store
      .selectFrom('chain_steps')
      .selectAll()
      .where('chain_id', '=', id)
      .orderBy('step', 'desc')
      .limit(stepsAtOnce + 1);
    if (before !== undefined) asked = asked.where('step', '<', before);
    const rows = await asked.execute();
    if (rows.length === 0 && before === undefined) throw noChain();
    return { steps: rows.slice(0, stepsAtOnce).map(listedStep), more: rows.length > stepsAtOnce };
  }

  /** Gives the present step a name. CodedError REQUEST_INVALID when another has it. */
  async addSnapshot(id: string, revision: number, name: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      const { step } = await seen(tx, id, revision);
      await refuseTaken(tx, id, name, null);
      await tx
        .insertInto('chain_snapshots')
        .values({ id: newId(), chain_id: id, name, step, created_at: now() })
        .execute();
    });
  }

  async renameSnapshot(id: string, snapshotId: string, name: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      await refuseTaken(tx, id, name, snapshotId);
      const { numUpdatedRows } = await tx
        .updateTable('chain_snapshots')
        .set({ name })
        .where('chain_id', '=', id)
        .where('id', '=', snapshotId)
        .executeTakeFirst();
      if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such snapshot.');
    });
  }

  /** The step it named stays in the history. */
  async deleteSnapshot(id: string, snapshotId: string): Promise<void> {
    await this.#store
      .deleteFrom('chain_snapshots')
      .where('chain_id', '=', id)
      .where('id', '=', snapshotId)
      .execute();
  }

  /** Ends for good what was deleted before `before`. */
  async purge(before: string): Promise<void> {
    await this.#store.deleteFrom('chains').where('deleted_at', '<', before).execute();
  }

  #listed() {
    return this.#store
      .selectFrom('chains')
      .innerJoin('versions', 'versions.id', 'chains.version_id')
      .innerJoin('songs', 'songs.id', 'versions.song_id')
      .select([
        'chains.id',
        'versions.song_id',
        'chains.version_id',
        'versions.name as version_name',
        'chains.name',
        'chains.revision',
        'chains.step',
        'chains.changed_at',
      ])
      .where('chains.deleted_at', 'is', null)
      .where('versions.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null);
  }

  /** Goes to the step that `to` answers with; null leaves everything as it is. */
  async #move(
    id: string,
    revision: number,
    to: (tx: Writer, at: Selectable<ChainStepRow>) => Promise<number | null>,
  ): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      const { step } = await seen(tx, id, revision);
      const next = await to(tx, await stepOf(tx, id, step));
      if (next === null) return;
      // Again with the revision: of two processes that both read, one writes.
      const { numUpdatedRows } = await tx
        .updateTable('chains')
        .set({ step: next, revision: revision + 1, changed_at: now() })
        .where('id', '=', id)
        .where('revision', '=', revision)
        .executeTakeFirst();
      if (numUpdatedRows === 0n) throw conflict();
    });
  }

  async #update(
    id: string,
    values: { name?: string; deleted_at?: string | null },
    alsoDeleted = false,
  ): Promise<void> {
    let update = this.#store
      .updateTable('chains')
      .set({ ...values, changed_at: now() })
      .where('id', '=', id);
    if (!alsoDeleted) update = update.where('deleted_at', 'is', null);
    const { numUpdatedRows } = await update.executeTakeFirst();
    if (numUpdatedRows === 0n) throw noChain();
  }
}

type Writer = Pick<Store, 'selectFrom' | 'updateTable' | 'insertInto'>;

/** The chain when it is still at `revision`. */
async function seen(tx: Writer, id: string, revision: number): Promise<Pick<ChainRow, 'step'>> {
  const row = await tx
    .selectFrom('chains')
    .select(['revision', 'step'])
    .where('id', '=', id)
    .where('deleted_at', 'is', null)
    .executeTakeFirst();
  if (!row) throw noChain();
  if (row.revision !== revision) throw conflict();
  return row;
}

async function stepOf(
  store: Pick<Store, 'selectFrom'>,
  id: string,
  step: number,
): Promise<Selectable<ChainStepRow>> {
  const row = await store
    .selectFrom('chain_steps')
    .selectAll()
    .where('chain_id', '=', id)
    .where('step', '=', step)
    .executeTakeFirst();
  if (!row) throw new CodedError('NOT_FOUND', 'The chain has no such step.');
  return row;
}

async function insertStep(
  tx: Writer,
  {
    chain,
    words,
    ...row
  }: Pick<ChainStepRow, 'chain_id' | 'step' | 'came_from'> & { chain: Chain; words: readonly string[] },
): Promise<void> {
  await tx
    .insertInto('chain_steps')
    .values({
      ...row,
      then_step: null,
      chain: exactJson(chain),
      words: JSON.stringify(words),
      made_at: now(),
    })
    .execute();
}

async function freeName(tx: Writer, versionId: string): Promise<string> {
  const rows = await tx.selectFrom('chains').select('name').where('version_id', '=', versionId).execute();
  const taken = new Set(rows.map(({ name }) => name));
  for (let n = 1; ; n++) if (!taken.has(`Chain ${n}`)) return `Chain ${n}`;
}

async function refuseTaken(tx: Writer, id: string, name: string, except: string | null): Promise<void> {
  const rows = await tx
    .selectFrom('chain_snapshots')
    .select(['id', 'name'])
    .where('chain_id', '=', id)
    .execute();
  const same = rows.find((row) => row.name.toLowerCase() === name.toLowerCase());
  if (same && same.id !== except)
    throw new CodedError(
      'REQUEST_INVALID',
      `There is already a snapshot “${same.name}”; choose another name.`,
    );
}

function headOf(row: {
  id: string;
  song_id: string;
  version_id: string;
  version_name: string;
  name: string;
  changed_at: string;
}): Omit<ChainSummary, 'parts'> {
  return {
    id: row.id,
    songId: row.song_id,
    versionId: row.version_id,
    versionName: row.version_name,
    name: row.name,
    changedAt: row.changed_at,
  };
}

function listedStep(row: Selectable<ChainStepRow>): ChainStep {
  return { step: row.step, from: row.came_from, words: wordsOf(row), madeAt: row.made_at };
}

/** Read as if from a stranger: a chain of an older release takes the defaults of this one. */
function chainOf(json: string): Chain {
  return readChain(JSON.parse(json));
}

function wordsOf({ words }: Pick<ChainStepRow, 'words'>): string[] {
  return JSON.parse(words) as string[];
}

function noChain(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such chain.');
}

function conflict(): CodedError {
  return new CodedError(
    'CHAIN_CONFLICT',
    'This chain was changed in another window first, so your change was not made. Look at what it is now and make it again.',
  );
}

function now(): string {
  return new Date().toISOString();
}
