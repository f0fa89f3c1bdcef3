import type { Version } from '../../src/server/api.ts';
import type { Changes } from '../api/queries.ts';
import { isActive, JobLine, whyUnchecked } from './job-line.tsx';
import { SeverityLabel } from './severity.tsx';

/** The verdict on a version in a few words, or what stands in its way. */
export function VerdictLine({ version, changes }: { version: Version; changes: Changes }) {
  if (isActive(version.job)) return <JobLine job={version.job} of={version.name} changes={changes} />;
  const { verdict } = version;
  const trouble = verdict && version.job?.state === 'done' ? null : whyUnchecked(version.job);
  if (verdict)
    return (
      <>
        <VerdictWords verdict={verdict} />
        {trouble && version.job?.state === 'failed' && <p className="note">Last check: {trouble}</p>}
      </>
    );
  return (
    <div className="unchecked">
      <span className={version.job?.state === 'failed' ? 'sentence' : 'note'}>{trouble}</span>{' '}
      <button
        type="button"
        className="plain"
        aria-label={`${version.job ? 'Check again:' : 'Check'} ${version.name}`}
        disabled={changes.check.isPending}
        onClick={() => changes.check.mutate(version.id)}
      >
        {version.job ? 'Check again' : 'Check'}
      </button>
    </div>
  );
}

function VerdictWords({ verdict }: { verdict: NonNullable<Version['verdict']> }) {
  const { worst, mendCount, lookCount } = verdict;
  const look = `${lookCount} worth a look`;
  if (worst === 'mend')
    return <SeverityLabel severity="mend" text={`${mendCount} to mend${lookCount ? `, ${look}` : ''}`} />;
  if (worst === 'look') return <SeverityLabel severity="look" text={look} />;
  return <SeverityLabel severity="fine" text="Fine" />;
}
