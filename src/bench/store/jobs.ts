import type { Selectable } from 'kysely';
import type { Job } from '../shapes.ts';
import type { JobRow } from './tables.ts';

/** How far running jobs are, by job id; kept in memory because a disk write a progress step would be waste. */
export type LiveProgress = ReadonlyMap<string, { readonly stage: string; readonly progress: number }>;

export function toJob(row: Selectable<JobRow>, live: LiveProgress): Job {
  const now = row.state === 'running' ? live.get(row.id) : undefined;
  return {
    id: row.id,
    versionId: row.version_id,
    kind: row.kind,
    state: row.state,
    stage: now?.stage ?? row.stage,
    progress: now?.progress ?? (row.state === 'done' ? 1 : 0),
    error: row.error_code === null ? null : { code: row.error_code, message: row.error_message ?? '' },
    createdAt: row.created_at,
  };
}
