import { Link } from 'wouter';
import { thousands } from '../../src/judge/amounts.ts';
import { profileOf } from '../../src/judge/profiles.ts';
import type { CatalogueRun } from '../../src/server/catalogue-api.ts';
import { useCatalogues } from '../api/catalogue-queries.ts';
import { moment, runSentence, shortPlace } from '../catalogue/run-standing.tsx';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';

/** All runs over catalogues, newest first, and how to begin one. */
export function CataloguesScreen() {
  const catalogues = useCatalogues();
  useTitle('Catalogue');
  if (catalogues.isError && !catalogues.data)
    return <Unanswered error={catalogues.error} retry={() => void catalogues.refetch()} />;
  if (!catalogues.data) return <Message title="Reading the runs…" />;
  const { where, runs } = catalogues.data;
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <p className="note">
            {where === 'postgres'
              ? 'Kept in the database that DATABASE_URL names.'
              : 'Kept on this machine, in the data folder.'}
          </p>
        </div>
        <div className="body">
          <h1 className="headline">Thousands of songs, the same check</h1>
          <p className="sentence">
            When terms of delivery change, or a fault is found late, a whole catalogue has to be looked at
            again. A song whose sound has not changed is never measured twice.
          </p>
        </div>
      </div>
      <div className="entry">
        <div className="margin" />
        <div className="body">{runs.length === 0 ? <HowToBegin /> : <RunList runs={runs} />}</div>
      </div>
    </div>
  );
}

function HowToBegin() {
  return (
    <>
      <h2>No run yet</h2>
      <ol className="steps">
        <li>
          In a terminal: <code>everyroom catalogue check FOLDER</code>, or a list of paths and addresses as
          CSV. All cores work on it; it can be stopped and goes on where it was.
        </li>
        <li>Here you see how far it is, what is found, and every song’s verdict.</li>
        <li>
          For more than one machine, set <code>DATABASE_URL</code> on each and let the others run{' '}
          <code>everyroom catalogue work</code>.
        </li>
      </ol>
    </>
  );
}

function RunList({ runs }: { runs: readonly CatalogueRun[] }) {
  return (
    <section aria-labelledby="runs">
      <h2 id="runs">
        {thousands(runs.length)} {runs.length === 1 ? 'run' : 'runs'}
      </h2>
      <ul className="plain-list">
        {runs.map((run) => (
          <li key={run.id}>
            <h3>
              <Link href={`/catalogue/${run.id}`} className="title-link">
                {shortPlace(run.what)}
              </Link>
            </h3>
            <p>{runSentence(run)}</p>
            <p className="note path">
              {moment(run.startedMs)}, {profileOf(run.profile).name}
              {run.lossy && ', with lossy coding'}, {run.what}
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}
