import { useState } from 'react';
import { Link } from 'wouter';
import type { Survival, VersionDetail } from '../../src/server/api.ts';
import { useChanges, useSong, useSurvival, useVersion } from '../api/queries.ts';
import { isActive, JobLine } from '../parts/job-line.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { Answer } from '../survive/answer.tsx';
import { Choices } from '../survive/choices.tsx';
import { SurvivalBody } from '../survive/survival-body.tsx';

/** What lossy coding does to one version, and the ceiling that survives it. */
export function SurviveScreen({ id }: { id: string }) {
  const version = useVersion(id, null);
  const survival = useSurvival(id);
  useTitle(version.data ? `${version.data.name} after lossy coding` : 'After lossy coding');
  const failed = version.isError && !version.data ? version : survival;
  if (failed.isError && !failed.data)
    return <Unanswered error={failed.error} retry={() => void failed.refetch()} />;
  if (!version.data || !survival.data) return <Message title="Reading what is known…" />;
  return <SurviveSheet version={version.data} survival={survival.data} />;
}

function SurviveSheet({ version, survival }: { version: VersionDetail; survival: Survival }) {
  const changes = useChanges();
  const song = useSong(version.songId);
  const { job, report } = survival;
  const active = isActive(job);
  /** Shown once there is a report; before, choosing is all there is to do. */
  const [choosing, setChoosing] = useState(false);
  return (
    <div className="sheet survive">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/">Bench</Link> /{' '}
            <Link href={`/songs/${version.songId}`}>{song.data?.title ?? 'song'}</Link> /{' '}
            <Link href={`/versions/${version.id}`}>verdict</Link>
          </nav>
          <p className="version-title">
            <strong>{version.name}</strong>
          </p>
          <p className="note">After lossy coding</p>
        </div>
        <div className="body">
          <Answer survival={survival} name={version.name} />
          {active && <JobLine job={job} of={version.name} doing="coding" changes={changes} />}
          {report && !active && !choosing && (
            <button type="button" className="plain" onClick={() => setChoosing(true)}>
              Choose other formats or another limit
            </button>
          )}
          {((!report && !active) || choosing) && (
            <Choices
              settings={survival.settings}
              pending={changes.survive.isPending}
              error={changes.survive.error}
              onRun={(request) =>
                changes.survive.mutate(
                  { id: version.id, ...request },
                  { onSuccess: () => setChoosing(false) },
                )
              }
            />
          )}
        </div>
      </div>
      {report && <SurvivalBody versionId={version.id} report={report} complete={survival.complete} />}
    </div>
  );
}
