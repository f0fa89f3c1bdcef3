import { Link } from 'wouter';
import { thousands } from '../../src/judge/amounts.ts';
import { profileOf } from '../../src/judge/profiles.ts';
import type { CatalogueComparison, CatalogueRunDetail } from '../../src/server/catalogue-api.ts';
import { useCatalogueComparison } from '../api/catalogue-queries.ts';
import { figure } from '../words/figures.ts';
import { moment } from './run-standing.tsx';
import { useComparedRun } from './table-state.ts';

/** What got better and what worse since an earlier run over the same songs. */
export function Comparison({ run }: { run: CatalogueRunDetail }) {
  const [earlier, choose] = useComparedRun();
  const comparison = useCatalogueComparison(run.id, earlier);
  if (run.earlier.length === 0) return null;
  return (
    <section className="entry" aria-labelledby="comparison">
      <div className="margin">
        <label className="note" htmlFor="earlier-run">
          Against the run of
        </label>
        <select
          id="earlier-run"
          value={earlier ?? ''}
          onChange={(event) => choose(event.target.value || null)}
        >
          <option value="">none</option>
          {run.earlier.map(({ id, startedMs, engine, profile }) => (
            <option key={id} value={id}>
              {moment(startedMs)}
              {profile === run.profile ? '' : `, ${profileOf(profile).name}`}
              {engine === run.engine ? '' : ` (engine ${engine})`}
            </option>
          ))}
        </select>
      </div>
      <div className="body">
        <h2 id="comparison">Since an earlier run</h2>
        {earlier === null && (
          <p className="sentence">
            Choose an earlier run over the same songs to see what got better and what worse.
          </p>
        )}
        {comparison.isError && <p className="sentence">{comparison.error.message}</p>}
        {earlier !== null && comparison.isPending && <p className="note">Laying the two side by side…</p>}
        {comparison.data && <Changes comparison={comparison.data} runId={run.id} />}
      </div>
    </section>
  );
}

function Changes({ comparison, runId }: { comparison: CatalogueComparison; runId: string }) {
  const { better, worse, same, moved, added, gone } = comparison;
  return (
    <>
      <p className="sentence">
        {thousands(better)} better, {thousands(worse)} worse, {thousands(same)} as before
        {added > 0 && `, ${thousands(added)} new`}
        {gone > 0 && `, ${thousands(gone)} not there any more`}. Loudness or true peak reads differently in{' '}
        {thousands(moved)}.
      </p>
      <ChangedSongs title="Worse" songs={comparison.worseSongs} all={worse} runId={runId} />
      <ChangedSongs title="Better" songs={comparison.betterSongs} all={better} runId={runId} />
    </>
  );
}

/** Songs named at once; the export has them all. */
const named = 20;

function ChangedSongs({
  title,
  songs,
  all,
  runId,
}: {
  title: string;
  songs: CatalogueComparison['worseSongs'];
  all: number;
  runId: string;
}) {
  if (songs.length === 0) return null;
  return (
    <div className="scroll">
      <table className="changed-songs">
        <thead>
          <tr>
            <th scope="col">{title}</th>
            <th scope="col">Before</th>
            <th scope="col">Now</th>
            <th scope="col" className="num">
              Loudness <small>LUFS</small>
            </th>
          </tr>
        </thead>
        <tbody>
          {songs.slice(0, named).map(({ seq, name, before, after }) => (
            <tr key={seq}>
              <th scope="row">
                <Link href={`/catalogue/${runId}/songs/${seq}`} className="title-link">
                  {name}
                </Link>
              </th>
              <td>{verdictWords(before)}</td>
              <td>{verdictWords(after)}</td>
              <td className="num">
                {figure(before.integratedLufs)} → {figure(after.integratedLufs)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {all > named && <p className="note">and {thousands(all - named)} more</p>}
    </div>
  );
}

function verdictWords({
  worst,
  mendCount,
  lookCount,
}: CatalogueComparison['worseSongs'][number]['before']): string {
  if (worst === 'failed') return 'not checked';
  if (worst === 'fine') return 'fine';
  const parts = [
    mendCount > 0 ? `${mendCount} to mend` : '',
    lookCount > 0 ? `${lookCount} worth a look` : '',
  ];
  return parts.filter((part) => part !== '').join(', ');
}
