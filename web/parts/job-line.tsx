import { Button, ProgressBar } from 'react-aria-components';
import type { Job } from '../../src/server/api.ts';
import type { Changes } from '../api/queries.ts';

/** Work under way: what is being done, how far, and a way to stop it. */
export function ProgressLine({
  label,
  stage,
  progress,
  waiting = false,
  cancelLabel,
  cancelling,
  onCancel,
}: {
  label: string;
  stage: string;
  /** 0..1 */
  progress: number;
  /** Nothing is being done yet. */
  waiting?: boolean;
  cancelLabel: string;
  cancelling: boolean;
  onCancel: () => void;
}) {
  const percent = Math.round(progress * 100);
  return (
    <div className="job">
      <ProgressBar
        aria-label={label}
        value={waiting ? 0 : percent}
        valueLabel={`${stage}, ${percent} %`}
        className="progress"
      >
        {({ percentage }) => (
          <>
            <div className="bar">
              <div style={{ width: `${percentage ?? 0}%` }} />
            </div>
            <span className="note">
              {stage}
              {!waiting && <span className="num">, {percent} %</span>}
            </span>
          </>
        )}
      </ProgressBar>
      <Button className="plain" aria-label={cancelLabel} isDisabled={cancelling} onPress={onCancel}>
        Cancel
      </Button>
    </div>
  );
}

/** A job under way. */
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
  return (
    <ProgressLine
      label={`${doing[0]?.toUpperCase()}${doing.slice(1)} ${of}`}
      stage={waiting ? 'waiting for its turn' : job.stage || 'starting'}
      progress={job.progress}
      waiting={waiting}
      cancelLabel={`Cancel ${doing} ${of}`}
      cancelling={changes.cancel.isPending}
      onCancel={() => changes.cancel.mutate(job.id)}
    />
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
