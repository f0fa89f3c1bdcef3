import { duration } from '../../src/judge/amounts.ts';
import { profileOf } from '../../src/judge/profiles.ts';
import type { CatalogueRunDetail } from '../../src/server/catalogue-api.ts';
import { useCatalogueRun } from '../api/catalogue-queries.ts';
import { Comparison } from '../catalogue/comparison.tsx';
import { Middles } from '../catalogue/middles.tsx';
import {
  Counts,
  moment,
  RuleList,
  RunProgress,
  runSentence,
  shortPlace,
  Where,
} from '../catalogue/run-standing.tsx';
import { SongTable } from '../catalogue/song-table.tsx';
import { useTableState } from '../catalogue/table-state.ts';
import { Message, Unanswered } from '../parts/message.tsx';
import { useTitle } from '../parts/theme.tsx';

/** One run over a catalogue: how far it is, what was found by which rule, what lies far off, and every song. */
export function CatalogueRunScreen({ id }: { id: string }) {
  const run = useCatalogueRun(id);
  useTitle(run.data ? shortPlace(run.data.what) : 'Catalogue');
  if (run.isError && !run.data) return <Unanswered error={run.error} retry={() => void run.refetch()} />;
  if (!run.data) return <Message title="Reading the run…" />;
  return <RunSheet run={run.data} />;
}

function RunSheet({ run }: { run: CatalogueRunDetail }) {
  const table = useTableState();
  return (
    <div className="sheet">
      <div className="entry opening">
        <div className="margin">
          <Where run={run} />
          <p className="note path">{run.what}</p>
          <p className="note">
            {moment(run.startedMs)}
            {run.endedMs !== null && `, took ${duration((run.endedMs - run.startedMs) / 1000)}`}
          </p>
          <p className="note">
            Held against {profileOf(run.profile).name}
            {run.lossy ? ', with lossy coding' : ', without lossy coding'}.
          </p>
        </div>
        <div className="body">
          <h1 className="headline">{runSentence(run)}</h1>
          <RunProgress run={run} />
          <Counts run={run} table={table} />
        </div>
      </div>
      <section className="entry" aria-labelledby="rules">
        <div className="margin">
          <p className="note">A press on a finding shows its songs below.</p>
          <button type="button" className="plain" onClick={table.slowest}>
            Slowest songs
          </button>
        </div>
        <div className="body">
          <h2 id="rules">What was found</h2>
          <RuleList run={run} table={table} />
        </div>
      </section>
      <SongTable run={run} table={table} />
      <Middles run={run} table={table} />
      <Comparison run={run} />
    </div>
  );
}
