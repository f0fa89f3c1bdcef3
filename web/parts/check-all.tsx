import type { Version } from '../../src/server/api.ts';
import type { Changes } from '../api/queries.ts';
import { isActive } from './job-line.tsx';
import { say } from './toasts.tsx';

/** Offers to check every version that has neither a verdict nor a check under way nor one that ended badly. */
export function CheckAll({ versions, changes }: { versions: readonly Version[]; changes: Changes }) {
  const unchecked = versions.filter((v) => !v.verdict && !isActive(v.job) && v.job?.state !== 'failed');
  if (unchecked.length === 0) return null;
  const start = () => {
    for (const version of unchecked)
      changes.check.mutateAsync(version.id).catch((error: Error) => say(error.message));
  };
  return (
    <button type="button" className="secondary" disabled={changes.check.isPending} onClick={start}>
      {unchecked.length === 1 ? 'Check the unchecked one' : `Check all ${unchecked.length} unchecked`}
    </button>
  );
}
