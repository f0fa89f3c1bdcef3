import { Link, useSearchParams } from 'wouter';
import { type ProfileId, profileIds } from '../../src/judge/profiles.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import { useChanges, useSong, useVersion } from '../api/queries.ts';
import { EditableText } from '../parts/editable-text.tsx';
import { isActive, JobLine, whyUnchecked } from '../parts/job-line.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { SetSelect, useChosenSet } from '../sets/set-choice.tsx';
import { StandingView } from '../sets/standing.tsx';
import { WindowDrop } from '../uploads/drop-place.tsx';
import { UploadList } from '../uploads/upload-list.tsx';
import { fileLine } from '../verdict/file-note.tsx';
import { ProfileSelect } from '../verdict/profile-select.tsx';
import { ReportBody } from '../verdict/report-body.tsx';
import { bytes } from '../words/figures.ts';

/** One version and the verdict on it, or the check that is under way. */
export function VerdictScreen({ id }: { id: string }) {
  const [profile, choose] = useProfileChoice();
  const version = useVersion(id, profile);
  useTitle(version.data?.name ?? 'Verdict');
  if (version.isError && !version.data)
    return <Unanswered error={version.error} retry={() => void version.refetch()} />;
  if (!version.data) return <Message title="Reading the verdict…" />;
  return <VerdictSheet version={version.data} onProfile={choose} />;
}

/** The profile chosen by the reader; in the address, so that a reload or a link keeps it. null: the usual one. */
function useProfileChoice(): [ProfileId | null, (id: ProfileId) => void] {
  const [search, setSearch] = useSearchParams();
  const named = search.get('profile');
  const chosen = profileIds.find((id) => id === named) ?? null;
  return [chosen, (id) => setSearch({ profile: id }, { replace: true })];
}

function VerdictSheet({
  version,
  onProfile,
}: {
  version: VersionDetail;
  onProfile: (id: ProfileId) => void;
}) {
  const changes = useChanges();
  const song = useSong(version.songId);
  const { job, report } = version;
  return (
    <div className="sheet verdict">
      <div className="entry opening">
        <div className="margin">
          <nav className="note" aria-label="Where this is">
            <Link href="/">Bench</Link> /{' '}
            <Link href={`/songs/${version.songId}`}>{song.data?.title ?? 'song'}</Link>
          </nav>
          <p className="version-title">
            <strong>{version.name}</strong>
            <EditableText
              text={version.name}
              label="version"
              onChange={(name) =>
                changes.patchVersion.mutate(
                  { id: version.id, name },
                  { onError: (error) => say(error.message) },
                )
              }
            />
          </p>
          <p className="note">
            {version.kind}, {report ? fileLine(report.file) : bytes(version.bytes)}
          </p>
        </div>
        <div className="body">
          <h1 className="headline">{report?.headline ?? openingWords(version)}</h1>
          {report && <ProfileSelect chosen={report.profile.id} onChange={onProfile} />}
          {isActive(job) ? (
            <JobLine job={job} of={version.name} changes={changes} />
          ) : (
            <CheckAgain version={version} onCheck={() => changes.check.mutate(version.id)} />
          )}
          <UploadList songId={version.songId} />
          <WindowDrop songId={version.songId} />
        </div>
      </div>
      {report && <ReportBody version={version} report={report} />}
      {report && version.kind !== 'reference' && <Stands version={version} />}
    </div>
  );
}

/** How the version stands among the records of the chosen set. */
function Stands({ version }: { version: VersionDetail }) {
  const chosenSet = useChosenSet();
  const { set } = chosenSet;
  return (
    <section className="entry" aria-labelledby="stand">
      <div className="margin">
        <SetSelect chosen={chosenSet} />
      </div>
      <div className="body">
        <h2 id="stand">How it stands among your references</h2>
        {set?.members.some(({ checked }) => checked) ? (
          <StandingView versionId={version.id} versionName={version.name} setId={set.id} />
        ) : (
          <p className="sentence">
            With a <Link href="/sets">set of about ten records</Link> you know by heart, this says where the
            version lies among them: tone, dynamics, width and low end.
          </p>
        )}
        <p className="paperwork">
          <Link href={`/songs/${version.songId}/desk`}>Listen at the desk</Link>{' '}
          <Link href={`/versions/${version.id}/places`}>How it sounds in other places</Link>
        </p>
      </div>
    </section>
  );
}

function openingWords({ job, name }: VersionDetail): string {
  if (isActive(job)) return `Checking ${name}.`;
  if (job?.state === 'failed') return job.error?.message ?? 'The check failed.';
  if (job?.state === 'cancelled') return 'The check was cancelled; there is no verdict yet.';
  return 'Not checked yet.';
}

/** Offers a check where there is no verdict, or where the last one ended badly; after a good one it keeps quiet. */
function CheckAgain({ version, onCheck }: { version: VersionDetail; onCheck: () => void }) {
  const { job, report } = version;
  const why = whyUnchecked(job);
  if (report && (job === null || why === null))
    return (
      <button type="button" className="plain" onClick={onCheck}>
        Check again
      </button>
    );
  return (
    <div className="check-again">
      {report && why && <p className="sentence">{why} What follows is the verdict before it.</p>}
      {job?.state === 'failed' && job.error && (
        <p className="note">
          <code>{job.error.code}</code> The file is still here and nothing else was touched.
        </p>
      )}
      <button type="button" className="primary" onClick={onCheck}>
        {job ? 'Check again' : 'Check it'}
      </button>
    </div>
  );
}
