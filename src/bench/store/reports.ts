import type { Insertable } from 'kysely';
import type { Facts } from '../../judge/facts.ts';
import { reportOf } from '../../judge/report.ts';
import type { Traces } from '../../measure/measurement.ts';
import { exactJson } from '../json.ts';
import { type Version, verdictOf } from '../shapes.ts';
import { measureTask } from '../tasks/measure.ts';
import type { Store } from './database.ts';
import type { ReportRow } from './tables.ts';

/** Facts without what there is to draw. */
export type Figures = Omit<Facts, 'measurement'> & {
  readonly measurement: Omit<Facts['measurement'], 'traces'>;
};

/** Facts as they are kept: name and kind belong to the version, the traces have a column of their own. */
type KeptFacts = Omit<Facts, 'kind' | 'measurement'> & {
  readonly measurement: Omit<Facts['measurement'], 'traces'>;
};

/** The row for what a check of a version found. */
export function reportRow(versionId: string, facts: Facts): Insertable<ReportRow> {
  const { kind: _kind, measurement, ...rest } = facts;
  const { traces, ...figures } = measurement;
  const kept: KeptFacts = { ...rest, measurement: figures };
  return {
    version_id: versionId,
    facts: exactJson(kept),
    traces: exactJson(traces),
    verdict: exactJson(verdictOf(reportOf(facts))),
    measured_by: measureTask.version,
    made_at: new Date().toISOString(),
  };
}

/** As keptFacts, without the traces, which are most of it. */
export async function keptFigures(store: Store, { id, name, kind }: Version): Promise<Figures | null> {
  const row = await store
    .selectFrom('reports')
    .select('facts')
    .where('version_id', '=', id)
    .executeTakeFirst();
  if (!row) return null;
  const { file, ...rest } = JSON.parse(row.facts) as KeptFacts;
  return { ...rest, file: { ...file, name }, kind };
}

/** What the newest check of a version found, under its present name and kind; null before the first check has ended. */
export async function keptFacts(store: Store, { id, name, kind }: Version): Promise<Facts | null> {
  const row = await store
    .selectFrom('reports')
    .select(['facts', 'traces'])
    .where('version_id', '=', id)
    .executeTakeFirst();
  if (!row) return null;
  const { file, measurement, ...rest } = JSON.parse(row.facts) as KeptFacts;
  const traces = JSON.parse(row.traces) as Traces;
  return { ...rest, file: { ...file, name }, kind, measurement: { ...measurement, traces } };
}

/** Only what there is to draw of a version; null before the first check has ended. */
export async function keptTraces(store: Store, versionId: string): Promise<Traces | null> {
  const row = await store
    .selectFrom('reports')
    .select('traces')
    .where('version_id', '=', versionId)
    .executeTakeFirst();
  return row ? (JSON.parse(row.traces) as Traces) : null;
}

/** Writes the verdict in short anew, after what a version is said to be has changed. */
export async function judgeAgain(store: Store, version: Version): Promise<void> {
  const facts = await keptFacts(store, version);
  if (facts)
    await store
      .updateTable('reports')
      .set({ verdict: exactJson(verdictOf(reportOf(facts))) })
      .where('version_id', '=', version.id)
      .execute();
}

/** Versions whose newest check was measured as an older Everyroom did, and whether each was coded too. */
export async function oldReports(store: Store): Promise<{ versionId: string; lossy: boolean }[]> {
  const old = await store
    .selectFrom('reports')
    .select(['version_id', 'facts'])
    .where('measured_by', '<', measureTask.version)
    .execute();
  return old.map(({ version_id, facts }) => {
    const { lossy, lossyFailed } = JSON.parse(facts) as Pick<KeptFacts, 'lossy' | 'lossyFailed'>;
    return { versionId: version_id, lossy: lossy.length + lossyFailed.length > 0 };
  });
}

/** Forgets them: the rules of today may read what was not measured then. */
export async function dropOldReports(store: Store): Promise<void> {
  await store.deleteFrom('reports').where('measured_by', '<', measureTask.version).execute();
}
