import type { Transaction } from 'kysely';
import { type SurviveReport, surviveReportSchema } from '../../survive/survive-report.ts';
import { exactJson } from '../json.ts';
import type { SurviveSettings } from '../shapes.ts';
import type { Store } from './database.ts';
import type { Tables } from './tables.ts';

export interface KeptSurvival {
  readonly settings: SurviveSettings;
  readonly report: SurviveReport;
  readonly complete: boolean;
}

/** Keeps what a survive run has found so far in place of what was kept before. */
export async function keepSurvival(
  store: Store | Transaction<Tables>,
  versionId: string,
  { settings, report, complete }: KeptSurvival,
): Promise<void> {
  await store
    .insertInto('survivals')
    .orReplace()
    .values({
      version_id: versionId,
      settings: exactJson(settings),
      report: exactJson(report),
      complete: complete ? 1 : 0,
      made_at: new Date().toISOString(),
    })
    .execute();
}

/** null when there is none, or one in the shape of another release. */
export async function keptSurvival(store: Store, versionId: string): Promise<KeptSurvival | null> {
  const row = await store
    .selectFrom('survivals')
    .selectAll()
    .where('version_id', '=', versionId)
    .executeTakeFirst();
  if (!row) return null;
  const report = surviveReportSchema.safeParse(JSON.parse(row.report));
  if (!report.success) return null;
  return {
    settings: JSON.parse(row.settings) as SurviveSettings,
    report: report.data,
    complete: row.complete === 1,
  };
}
