import { ProgressBar } from 'react-aria-components';
import { Link } from 'wouter';
import { duration, thousands } from '../../src/judge/amounts.ts';
import type { CatalogueRun, CatalogueRunDetail } from '../../src/server/catalogue-api.ts';
import { useStopRun } from '../api/catalogue-queries.ts';
import { SeverityLabel, SeverityMark } from '../parts/severity.tsx';
import { say } from '../parts/toasts.tsx';
import { count } from '../words/figures.ts';
import type { TableState } from './table-state.ts';

/** The state of a run in one sentence. */
export function runSentence({ counts, endedMs, listing, listedMs }: CatalogueRun): string {
  const { total, mend, failed, waiting, working, stopped } = counts;
  if (total === 0) return endedMs === null ? 'No song was found yet.' : 'There were no songs.';
  const songs = `${thousands(total)} ${total === 1 ? 'song' : 'songs'}`;
  const found = mend > 0 ? `${thousands(mend)} with something to mend` : 'nothing to mend';
  const not = failed > 0 ? `, ${thousands(failed)} could not be checked` : '';
  if (endedMs !== null)
    return `${songs}: ${found}${not}${stopped > 0 ? `, ${thousands(stopped)} left undone` : ''}.`;
  const left = waiting + working;
  const list = listing ? ' so far' : listedMs === null ? ' (the list was broken off)' : '';
  return `${songs}${list}, ${thousands(left)} still to check: ${found}${not} until now.`;
}

/** How far the work is, who does it, and a way to stop it; nothing once it has ended. */
export function RunProgress({ run }: { run: CatalogueRunDetail }) {
  const stop = useStopRun();
  if (run.endedMs !== null) return null;
  const { total, waiting, working } = run.counts;
  const ended = total - waiting - working;
  const percent = total === 0 ? 0 : Math.floor((100 * ended) / total);
  const parts = [
    `${thousands(ended)} of ${thousands(total)}`,
    run.aMinute === null ? null : `${thousands(run.aMinute)} a minute`,
    run.secondsLeft === null ? null : `${duration(run.secondsLeft)} left`,
  ].filter((part) => part !== null);
  return (
    <div>
      <div className="job">
        <ProgressBar
          aria-label="Songs checked"
          value={percent}
          valueLabel={parts.join(', ')}
          className="progress"
        >
          {({ percentage }) => (
            <>
              <div className="bar">
                <div style={{ width: `${percentage ?? 0}%` }} />
              </div>
              <span className="note num">{parts.join(' · ')}</span>
            </>
          )}
        </ProgressBar>
        <button
          type="button"
          className="plain"
          disabled={stop.isPending}
          onClick={() => stop.mutate(run.id, { onError: (error) => say(error.message) })}
        >
          Stop
        </button>
      </div>
      <p className="note">
        {run.workers.length === 0 ? (
          <>
            Nobody works on it now; <code>everyroom catalogue work</code> goes on.
          </>
        ) : (
          `Worked on by ${run.workers.map(({ machine, songs }) => `${machine} (${count(songs, 'song')} in hand)`).join(', ')}.`
        )}
      </p>
    </div>
  );
}

/** Songs by verdict; each narrows the table down. */
export function Counts({ run, table }: { run: CatalogueRunDetail; table: TableState }) {
  const { mend, look, fine, failed, done, measured } = run.counts;
  return (
    <ul className="counts" aria-label="Songs by verdict">
      {(
        [
          ['mend', mend, 'to mend'],
          ['look', look, 'worth a look'],
          ['fine', fine, 'fine'],
        ] as const
      ).map(([worst, songs, word]) => (
        <li key={worst}>
          <button
            type="button"
            className="plain"
            disabled={songs === 0}
            onClick={() => table.showBelow({ worst })}
          >
            <SeverityMark severity={worst} /> <strong className="num">{thousands(songs)}</strong> {word}
          </button>
        </li>
      ))}
      <li>
        <button
          type="button"
          className="plain"
          disabled={failed === 0}
          onClick={() => table.showBelow({ state: 'failed' })}
        >
          <strong className="num">{thousands(failed)}</strong> not checked
        </button>
      </li>
      <li className="note num">
        {thousands(measured)} measured, {thousands(done - measured)} known from before
      </li>
    </ul>
  );
}

/** What was found, by rule, and why songs could not be checked; each narrows the table down. */
export function RuleList({ run, table }: { run: CatalogueRunDetail; table: TableState }) {
  const { rules, faults, counts } = run;
  if (rules.length === 0 && faults.length === 0)
    return counts.done > 0 ? <p className="sentence">No rule has anything to say of any song.</p> : null;
  const most = Math.max(...rules.map(({ songs }) => songs), 1);
  return (
    <table className="rules">
      <tbody>
        {rules.map(({ rule, severity, songs, title }) => (
          <tr key={`${rule} ${severity}`}>
            <td>
              <SeverityLabel severity={severity} />
            </td>
            <th scope="row">
              <button type="button" className="plain" onClick={() => table.showBelow({ rule })}>
                {title}
              </button>
            </th>
            <td className="num">{thousands(songs)}</td>
            <td className="rule-bar" aria-hidden="true">
              <div style={{ width: `${(100 * songs) / most}%` }} />
            </td>
          </tr>
        ))}
        {faults.map(({ code, songs }) => (
          <tr key={code}>
            <td className="note">Not checked</td>
            <th scope="row">
              <button type="button" className="plain" onClick={() => table.showBelow({ code })}>
                <code>{code}</code>
              </button>
            </th>
            <td className="num">{thousands(songs)}</td>
            <td />
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Where this stands among the screens. */
export function Where({ run }: { run?: Pick<CatalogueRun, 'id' | 'what'> }) {
  return (
    <nav className="note" aria-label="Where this is">
      <Link href="/catalogue">Catalogue</Link> /{' '}
      {run ? <Link href={`/catalogue/${run.id}`}>{shortPlace(run.what)}</Link> : 'run'}
    </nav>
  );
}

/** The last part of a path or address. */
export const shortPlace = (what: string): string =>
  what.split(/[/\\]/).findLast((part) => part !== '') ?? what;

/** A moment in the reader's own time: '25 Nov 2026, 18:30'. */
export const moment = (ms: number): string =>
  new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' }).format(ms);
