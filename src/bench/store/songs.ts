import { type Selectable, sql, type Transaction } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import type { KeptFile } from '../audio-store.ts';
import { newId } from '../ids.ts';
import type { Song, Verdict, Version, VersionKind } from '../shapes.ts';
import type { Store } from './database.ts';
import { type LiveProgress, toJob } from './jobs.ts';
import type { JobRow, SongRow, Tables } from './tables.ts';

export interface NewVersion {
  readonly songId: string;
  readonly name: string;
  readonly kind: VersionKind;
  readonly file: KeptFile;
}

type Reader = Store | Transaction<Tables>;

/** Songs and their versions in the database. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class Songs {
  readonly #store: Store;
  readonly #live: LiveProgress;

  constructor(store: Store, live: LiveProgress) {
    this.#store = store;
    this.#live = live;
  }

  /** All songs, the one changed last first. */
  async list(): Promise<Song[]> {
    const rows = await this.#store
      .selectFrom('songs')
      .selectAll()
      .where('deleted_at', 'is', null)
      .orderBy('change_seq', 'desc')
      .execute();
    return this.#assemble(rows);
  }

  async get(id: string): Promise<Song> {
    const rows = await this.#store
      .selectFrom('songs')
      .selectAll()
      .where('id', '=', id)
      .where('deleted_at', 'is', null)
      .execute();
    const [song] = await this.#assemble(rows);
    if (!song) throw new CodedError('NOT_FOUND', 'There is no such song.');
    return song;
  }

  /** Also finds a deleted one. */
  async findDemo(demoId: string): Promise<Selectable<SongRow> | undefined> {
    return this.#store.selectFrom('songs').selectAll().where('demo_id', '=', demoId).executeTakeFirst();
  }

  /** A new song with its versions, all or nothing. */
  async add(
    title: string,
    versions: readonly Omit<NewVersion, 'songId'>[],
    demoId: string | null = null,
  ): Promise<{ songId: string; versionIds: string[] }> {
    const songId = newId();
    return this.#store.transaction().execute(async (tx) => {
      await tx
        .insertInto('songs')
        .values({
          id: songId,
          title,
          demo_id: demoId,
          changed_at: now(),
          change_seq: nextChange,
          deleted_at: null,
        })
        .execute();
      const versionIds: string[] = [];
      for (const version of versions) versionIds.push(await insertVersion(tx, { ...version, songId }));
      return { songId, versionIds };
    });
  }

  async rename(id: string, title: string): Promise<void> {
    await this.#change(id, { title });
  }

  async delete(id: string): Promise<void> {
    await this.#change(id, { deleted_at: now() });
  }

  async restore(id: string): Promise<void> {
    await this.#change(id, { deleted_at: null }, true);
  }

  /** A new version of a song; or the one that already holds these bytes (`added` false). */
  async addVersion(version: NewVersion): Promise<{ versionId: string; added: boolean }> {
    return this.#store.transaction().execute(async (tx) => {
      const same = await tx
        .selectFrom('versions')
        .select('id')
        .where('song_id', '=', version.songId)
        .where('sha256', '=', version.file.sha256)
        .where('deleted_at', 'is', null)
        .executeTakeFirst();
      if (same) return { versionId: same.id, added: false };
      await touch(tx, version.songId);
      return { versionId: await insertVersion(tx, version), added: true };
    });
  }

  /** A version that holds these bytes, when there is one; of this kind when it is given. */
  async findByBytes(sha256: string, kind?: VersionKind): Promise<Version | null> {
    let query = this.#store
      .selectFrom('versions')
      .innerJoin('songs', 'songs.id', 'versions.song_id')
      .select('versions.id')
      .where('versions.sha256', '=', sha256)
      .where('versions.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null)
      .orderBy('versions.seq');
    if (kind) query = query.where('versions.kind', '=', kind);
    const row = await query.executeTakeFirst();
    return row ? this.getVersion(row.id) : null;
  }

  async getVersion(id: string): Promise<Version> {
    const row = await this.#store
      .selectFrom('versions')
      .select('song_id')
      .where('id', '=', id)
      .where('deleted_at', 'is', null)
      .executeTakeFirst();
    const song = row && (await this.get(row.song_id).catch(() => undefined));
    const version = song?.versions.find((candidate) => candidate.id === id);
    if (!version) throw new CodedError('NOT_FOUND', 'There is no such version.');
    return version;
  }

  async patchVersion(
    id: string,
    patch: { name?: string; kind?: VersionKind; songId?: string },
  ): Promise<void> {
    const before = await this.getVersion(id);
    await this.#store.transaction().execute(async (tx) => {
      await touch(tx, before.songId);
      if (patch.songId !== undefined && patch.songId !== before.songId) await touch(tx, patch.songId);
      await tx
        .updateTable('versions')
        .set({ name: patch.name, kind: patch.kind ?? before.kind, song_id: patch.songId })
        .where('id', '=', id)
        .execute();
    });
  }

  async deleteVersion(id: string): Promise<void> {
    const { songId } = await this.getVersion(id);
    await this.#store.transaction().execute(async (tx) => {
      await touch(tx, songId);
      await tx.updateTable('versions').set({ deleted_at: now() }).where('id', '=', id).execute();
    });
  }

  async restoreVersion(id: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      const row = await tx.selectFrom('versions').select('song_id').where('id', '=', id).executeTakeFirst();
      if (!row) throw new CodedError('NOT_FOUND', 'There is no such version.');
      await touch(tx, row.song_id);
      await tx.updateTable('versions').set({ deleted_at: null }).where('id', '=', id).execute();
    });
  }

  /** Ends for good what was deleted before `before`; returns the hashes of the files still wanted. */
  async purge(before: string): Promise<Set<string>> {
    return this.#store.transaction().execute(async (tx) => {
      // A shoot-out or a walk keeps what takes part in it for as long as it is there itself.
      await tx
        .deleteFrom('versions')
        .where('deleted_at', '<', before)
        .where('id', 'not in', (query) => query.selectFrom('shootout_entries').select('version_id'))
        .where('id', 'not in', (query) => query.selectFrom('shootouts').select('mix_version_id'))
        .where('id', 'not in', (query) => query.selectFrom('walks').select('version_id'))
        .where('id', 'not in', (query) => query.selectFrom('walk_references').select('version_id'))
        .execute();
      await tx.deleteFrom('songs').where('deleted_at', '<', before).execute();
      await tx
        .deleteFrom('files')
        .where('sha256', 'not in', (query) => query.selectFrom('versions').select('sha256'))
        .execute();
      const rows = await tx.selectFrom('files').select('sha256').execute();
      return new Set(rows.map((row) => row.sha256));
    });
  }

  async #change(
    id: string,
    values: Partial<Pick<SongRow, 'title' | 'deleted_at'>>,
    alsoDeleted = false,
  ): Promise<void> {
    let update = this.#store
      .updateTable('songs')
      .set({ ...values, changed_at: now(), change_seq: nextChange })
      .where('id', '=', id);
    if (!alsoDeleted) update = update.where('deleted_at', 'is', null);
    const { numUpdatedRows } = await update.executeTakeFirst();
    if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such song.');
  }

  async #assemble(rows: readonly Selectable<SongRow>[]): Promise<Song[]> {
    if (rows.length === 0) return [];
    const only = rows.length === 1 ? rows[0].id : null;
    const versions = await versionRows(this.#store, only);
    const jobs = await newestJobs(this.#store, only);
    const songs = new Map(rows.map((row) => [row.id, toSong(row)]));
    for (const row of versions) {
      const job = jobs.get(row.id);
      songs.get(row.song_id)?.versions.push({
        id: row.id,
        songId: row.song_id,
        name: row.name,
        kind: row.kind,
        sha256: row.sha256,
        bytes: row.bytes,
        addedAt: row.added_at,
        verdict: row.verdict === null ? null : (JSON.parse(row.verdict) as Verdict),
        job: job ? toJob(job, this.#live) : null,
      });
    }
    return [...songs.values()];
  }
}

function toSong(row: Selectable<SongRow>): Song {
  return {
    id: row.id,
    title: row.title,
    demo: row.demo_id !== null,
    changedAt: row.changed_at,
    versions: [],
  };
}

function versionRows(store: Reader, songId: string | null) {
  let query = store
    .selectFrom('versions')
    .innerJoin('files', 'files.sha256', 'versions.sha256')
    .leftJoin('reports', 'reports.version_id', 'versions.id')
    .selectAll('versions')
    .select(['files.bytes', 'reports.verdict'])
    .where('versions.deleted_at', 'is', null)
    .orderBy('versions.seq');
  if (songId !== null) query = query.where('versions.song_id', '=', songId);
  return query.execute();
}

async function newestJobs(store: Reader, songId: string | null): Promise<Map<string, Selectable<JobRow>>> {
  const rows = await store
    .selectFrom('jobs')
    .selectAll()
    .where('seq', 'in', (query) => {
      const newest = query
        .selectFrom('jobs')
        .select((e) => e.fn.max('seq').as('seq'))
        .where('kind', '=', 'check')
        .groupBy('version_id');
      return songId === null
        ? newest
        : newest.where(
            'version_id',
            'in',
            query.selectFrom('versions').select('id').where('song_id', '=', songId),
          );
    })
    .execute();
  return new Map(rows.map((row) => [row.version_id, row]));
}

async function insertVersion(
  tx: Transaction<Tables>,
  { songId, name, kind, file }: NewVersion,
): Promise<string> {
  const id = newId();
  await tx
    .insertInto('files')
    .values(file)
    .onConflict((conflict) => conflict.doNothing())
    .execute();
  await tx
    .insertInto('versions')
    .values({ id, song_id: songId, name, kind, sha256: file.sha256, added_at: now(), deleted_at: null })
    .execute();
  return id;
}

/** Marks a song as changed now; CodedError NOT_FOUND when it is not there. */
async function touch(tx: Transaction<Tables>, songId: string): Promise<void> {
  const { numUpdatedRows } = await tx
    .updateTable('songs')
    .set({ changed_at: now(), change_seq: nextChange })
    .where('id', '=', songId)
    .where('deleted_at', 'is', null)
    .executeTakeFirst();
  if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such song.');
}

const nextChange = sql<number>`(SELECT coalesce(max(change_seq), 0) + 1 FROM songs)`;

function now(): string {
  return new Date().toISOString();
}
