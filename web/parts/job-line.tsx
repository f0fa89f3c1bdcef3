import { Button, ProgressBar } from 'react-aria-components';
import type { Job } from '../../src/server/api.ts';
import type { Changes } from '../api/queries.ts';

/** A job under way: what is being done, how far, and a way to stop it. */
export function JobLine({
  job,
  of,
  doing = 'checking',
  changes,
}: {
  job: Job;
  of: string;
  /** What the job does, in lower case. */
  doing?: string;
  changes: Changes;
}) {
  const waiting = job.state === 'queued';
  const stage = waiting ? 'waiting for its turn' : job.stage || 'starting';
  return (
    <div className="job">
      <ProgressBar
        aria-label={`${doing[0]?.toUpperCase()}${doing.slice(1)} ${of}`}
        value={waiting ? 0 : Math.round(job.progress * 100)}
        valueLabel={`${stage}, ${Math.round(job.progress * 100)} %`}
        className="progress"
      >
        {({ percentage }) => (
          <>
            <div className="bar">
              <div style={{ width: `${percentage ?? 0}%` }} />
            </div>
            <span className="note">
              {stage}
              {!waiting && <span className="num">, {Math.round(job.progress * 100)} %</span>}
            </span>
          </>
        )}
      </ProgressBar>
      <Button
        className="plain"
        aria-label={`Cancel ${doing} ${of}`}
        isDisabled={changes.cancel.isPending}
        onPress={() => changes.cancel.mutate(job.id)}
      >
        Cancel
      </Button>
    </div>
  );
}

/** A job that has not ended. */
export type ActiveJob = Job & { state: 'queued' | 'running' };

export const isActive = (job: Job | null): job is ActiveJob =>
  job !== null && (job.state === 'queued' || job.state === 'running');

/** Why there is no verdict, in one sentence; null when there is one or it is on its way. */
export function whyUnchecked(job: Job | null): string | null {
  if (job === null) return 'Not checked yet.';
  if (job.state === 'cancelled') return 'The check was cancelled.';
  if (job.state === 'failed') return job.error?.message ?? 'The check failed.';
  return null;
}
