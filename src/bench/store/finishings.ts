import type { Selectable, Transaction } from 'kysely';
import { type FinishReport, finishReportSchema } from '../../judge/finish-report.ts';
import type { KeptFile } from '../audio-store.ts';
import { newId } from '../ids.ts';
import { exactJson } from '../json.ts';
import type { Store } from './database.ts';
import type { DraftRow, MakingRow, Tables } from './tables.ts';

type Reader = Store | Transaction<Tables>;

/** How a version was finished. */
export interface Making {
  readonly versionId: string;
  readonly fromVersionId: string;
  readonly chainId: string | null;
  /** As they were asked for. */
  readonly goals: unknown;
  readonly report: FinishReport;
  readonly madeAt: string;
}

/** A candidate of a loudness choice. */
export interface Draft {
  readonly id: string;
  readonly jobId: string;
  readonly versionId: string;
  readonly targetLufs: number;
  /** null when it could not be made; then `failure` says why. */
  readonly made: { readonly file: KeptFile; readonly report: FinishReport } | null;
  readonly failure: { readonly code: string; readonly message: string } | null;
}

export async function keepMaking(tx: Transaction<Tables>, making: Omit<Making, 'madeAt'>): Promise<void> {
  await tx
    .insertInto('makings')
    .orReplace()
    .values({
      version_id: making.versionId,
      from_version_id: making.fromVersionId,
      chain_id: making.chainId,
      goals: exactJson(making.goals),
      report: exactJson(making.report),
      made_at: new Date().toISOString(),
    })
    .execute();
}

/** How this version was made; null when it was not made here. */
export async function makingOf(store: Reader, versionId: string): Promise<Making | null> {
  const row = await store
    .selectFrom('makings')
    .selectAll()
    .where('version_id', '=', versionId)
    .executeTakeFirst();
  return row ? toMaking(row) : null;
}

/** What was made from this version and is still there, newest first. */
export async function makingsFrom(store: Reader, fromVersionId: string): Promise<Making[]> {
  const rows = await store
    .selectFrom('makings')
    .innerJoin('versions', 'versions.id', 'makings.version_id')
    .selectAll('makings')
    .where('makings.from_version_id', '=', fromVersionId)
    .where('versions.deleted_at', 'is', null)
    .orderBy('versions.seq', 'desc')
    .execute();
  return rows.flatMap((row) => toMaking(row) ?? []);
}

/** A candidate of a job's choice; the choices before it of that version are forgotten. */
export async function keepDraft(
  store: Store,
  { place, ...draft }: Omit<Draft, 'id'> & { readonly place: number },
): Promise<void> {
  await store.transaction().execute(async (tx) => {
    await tx
      .deleteFrom('drafts')
      .where('version_id', '=', draft.versionId)
      .where((e) => e.or([e('job_id', '!=', draft.jobId), e('place', '=', place)]))
      .execute();
    await tx
      .insertInto('drafts')
      .values({
        id: newId(),
        job_id: draft.jobId,
        version_id: draft.versionId,
        place,
        target_lufs: draft.targetLufs,
        sha256: draft.made?.file.sha256 ?? null,
        bytes: draft.made?.file.bytes ?? 0,
        report: draft.made && exactJson(draft.made.report),
        failure: draft.failure && exactJson(draft.failure),
      })
      .execute();
  });
}

/** Candidates of the newest choice of a version, in the order asked for. */
export async function draftsOf(store: Reader, versionId: string): Promise<Draft[]> {
  const rows = await store
    .selectFrom('drafts')
    .selectAll()
    .where('version_id', '=', versionId)
    .orderBy('place')
    .execute();
  return rows.map(toDraft);
}

export async function draftOf(store: Reader, id: string): Promise<Draft | null> {
  const row = await store.selectFrom('drafts').selectAll().where('id', '=', id).executeTakeFirst();
  return row ? toDraft(row) : null;
}

/** Forgets a candidate; false when there is none of that id. */
export async function dropDraft(store: Store, id: string): Promise<boolean> {
  const { numDeletedRows } = await store.deleteFrom('drafts').where('id', '=', id).executeTakeFirst();
  return numDeletedRows > 0n;
}

/** Forgets the choices longest ago until those left take at most so many bytes; the newest one stays whatever it takes. */
export async function trimDrafts(store: Store, mostBytes: number): Promise<void> {
  const rows = await store
    .selectFrom('drafts')
    .innerJoin('jobs', 'jobs.id', 'drafts.job_id')
    .select(['drafts.job_id', 'drafts.bytes'])
    .orderBy('jobs.seq', 'desc')
    .execute();
  let bytes = 0;
  const gone = new Set<string>();
  for (const row of rows) {
    bytes += row.bytes;
    if (bytes > mostBytes && row.job_id !== rows[0].job_id) gone.add(row.job_id);
  }
  if (gone.size > 0)
    await store
      .deleteFrom('drafts')
      .where('job_id', 'in', [...gone])
      .execute();
}

/** Hashes of the files that drafts are, which the store of sounds must not sweep away. */
export async function draftHashes(store: Reader): Promise<string[]> {
  const rows = await store.selectFrom('drafts').select('sha256').where('sha256', 'is not', null).execute();
  return rows.flatMap(({ sha256 }) => sha256 ?? []);
}

/** Whether a version or a draft needs the file of that hash. */
export async function isWanted(store: Reader, sha256: string): Promise<boolean> {
  const file = await store
    .selectFrom('files')
    .select('sha256')
    .where('sha256', '=', sha256)
    .executeTakeFirst();
  return file !== undefined || (await draftHashes(store)).includes(sha256);
}

/** null for one in the shape of another release. */
function toMaking(row: Selectable<MakingRow>): Making | null {
  const report = finishReportSchema.safeParse(JSON.parse(row.report));
  if (!report.success) return null;
  return {
    versionId: row.version_id,
    fromVersionId: row.from_version_id,
    chainId: row.chain_id,
    goals: JSON.parse(row.goals),
    report: report.data,
    madeAt: row.made_at,
  };
}

function toDraft(row: Selectable<DraftRow>): Draft {
  const report = row.report === null ? null : finishReportSchema.safeParse(JSON.parse(row.report));
  const made =
    report?.success && row.sha256 !== null
      ? { file: { sha256: row.sha256, bytes: row.bytes }, report: report.data }
      : null;
  return {
    id: row.id,
    jobId: row.job_id,
    versionId: row.version_id,
    targetLufs: row.target_lufs,
    made,
    failure: row.failure === null ? null : JSON.parse(row.failure),
  };
}
