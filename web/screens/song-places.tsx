import { useState } from 'react';
import { Link, useSearchParams } from 'wouter';
import type { PlacesReport } from '../../src/judge/places-report.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import type { SongPlaces } from '../../src/server/places-api.ts';
import { usePlacesRun, useSongPlaces } from '../api/place-queries.ts';
import { useChanges, useSong, useVersion } from '../api/queries.ts';
import { isActive, JobLine } from '../parts/job-line.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';
import { say } from '../parts/toasts.tsx';
import { PlaceGrid } from '../places/place-grid.tsx';
import { type RunChoice, RunChoices, requestOf } from '../places/run-choices.tsx';
import { useChosenSet } from '../sets/set-choice.tsx';
import { count } from '../words/figures.ts';

/** One version in every place at a glance, worst first. */
export function SongPlacesScreen({ id }: { id: string }) {
  const version = useVersion(id, null);
  const known = useSongPlaces(id);
  useTitle(version.data ? `${version.data.name} in other places` : 'In other places');
  const failed = version.isError && !version.data ? version : known;
  if (failed.isError && !failed.data)
    return <Unanswered error={failed.error} retry={() => void failed.refetch()} />;
  if (!version.data || !known.data) return <Message title="Reading what is known…" />;
  return <Sheet version={version.data} known={known.data} />;
}

function Sheet({ version, known }: { version: VersionDetail; known: SongPlaces }) {
  const changes = useChanges();
  const song = useSong(version.songId);
  const run = usePlacesRun(version.id);
  const chosenSet = useChosenSet();
  const { job, settings, report, stale } = known;
  const active = isActive(job);
  const [choice, setChoice] = useState<RunChoice>({
    level: settings?.level ?? 'talk-over',
    leadVersionId: settings?.leadVersionId ?? null,
    instrumentalVersionId: settings?.instrumentalVersionId ?? null,
  });
  const usable = (id: string | null) =>
    chosenSet.sets?.some((set) => set.id === id && set.members.some(({ checked }) => checked)) ? id : null;
  const ask = (next: RunChoice, setId: string | null) =>
    run.mutate(requestOf(next, usable(setId)), { onError: (error) => say(error.message) });
  const shown = chosenSet.set?.id ?? null;
  return (
    <div className="sheet song-places">
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
          <p className="note">How it sounds in other places</p>
          <p className="note">
            <Link href="/places">The places themselves</Link>, to look at, change or measure
          </p>
        </div>
        <div className="body">
          <h1 className="headline">{report?.headline ?? openingWords(known, version.name)}</h1>
          {report ? <Against report={report} /> : <Outlook />}
          {job?.state === 'failed' && (
            <p className="sentence">
              {report && 'The last run failed: '}
              {report && job.error?.message} <code>{job.error?.code}</code> The file is still here and nothing
              else was touched.
            </p>
          )}
          {job?.state === 'cancelled' && report && (
            <p className="sentence">A later run was cancelled. This is what the one before it found.</p>
          )}
          <RunChoices
            choice={choice}
            chosenSet={{
              ...chosenSet,
              choose: (setId) => {
                chosenSet.choose(setId);
                if (report) ask(choice, setId);
              },
            }}
            others={(song.data?.versions ?? []).filter(
              ({ id, kind }) => id !== version.id && kind !== 'reference',
            )}
            onChange={(next) => {
              setChoice(next);
              if (report) ask(next, shown);
            }}
          />
          {active ? (
            <JobLine job={job} of={version.name} doing="placing" changes={changes} />
          ) : (
            (!report ||
              stale ||
              job?.state === 'failed' ||
              (chosenSet.sets !== undefined && settings?.setId !== usable(shown))) && (
              <p className="choice-row">
                <button
                  type="button"
                  className="primary"
                  disabled={run.isPending}
                  onClick={() => ask(choice, shown)}
                >
                  {report ? 'Work it out again' : 'Play it in every place'}
                </button>
                {report && stale && (
                  <span className="sentence">
                    A place or the set has been changed since. What follows is from before.
                  </span>
                )}
              </p>
            )
          )}
        </div>
      </div>
      {report && <Places report={report} songId={version.songId} />}
    </div>
  );
}

function Places({ report, songId }: { report: PlacesReport; songId: string }) {
  const [search, setSearch] = useSearchParams();
  if (report.places.every(({ effect }) => effect === null))
    return (
      <div className="entry">
        <div className="margin" />
        <p className="body sentence">The song is silent: nothing can be heard of it anywhere.</p>
      </div>
    );
  return (
    <section className="entry" aria-labelledby="all-places">
      <div className="margin">
        <p className="note">
          Worked out from models of hearing and of the places, whose figures are mostly assumptions. Each can
          be changed, and your own place measured.
        </p>
      </div>
      <div className="body">
        <h2 id="all-places">{count(report.places.length, 'place')}, worst first</h2>
        <PlaceGrid
          report={report}
          songId={songId}
          openId={search.get('place')}
          onOpen={(id) => setSearch(id === null ? {} : { place: id }, { replace: true })}
        />
      </div>
    </section>
  );
}

/** Whom the figures stand against, and what would be gained by references where there are none. */
function Against({ report }: { report: PlacesReport }) {
  const { setName, references, leftOut } = report.against;
  return (
    <>
      {references.length === 0 ? (
        <p className="sentence">
          There are no references, so the figures stand against this project’s own bounds, which know neither
          your taste nor the style. With a <Link href="/sets">set of about ten records</Link> you know by
          heart, every place says what those records do there: a bass that is gone in the car may be gone in
          all of them.
        </p>
      ) : (
        <p className="sentence">
          Against {count(references.length, 'record')}
          {setName ? ` of “${setName}”` : ''}, each played in the same places at the same level.
        </p>
      )}
      {leftOut.length > 0 && (
        <p className="note">
          Left out: {leftOut.map(({ name, reason }) => `${name} (${reason})`).join('; ')}
        </p>
      )}
    </>
  );
}

function Outlook() {
  return (
    <p className="sentence">
      It is played through a model of each place, with its loudspeakers and its noise, at the level people
      play music there. What a listener would hear of it stands beside what your references do in the same
      place.
    </p>
  );
}

function openingWords({ job }: SongPlaces, name: string): string {
  if (isActive(job)) return `Playing ${name} in every place.`;
  if (job?.state === 'failed') return job.error?.message ?? 'It could not be worked out.';
  if (job?.state === 'cancelled') return 'It was cancelled before anything was known.';
  return `How does ${name} sound elsewhere?`;
}
