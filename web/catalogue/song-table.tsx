import { useEffect, useState } from 'react';
import { Link } from 'wouter';
import { thousands } from '../../src/judge/amounts.ts';
import type { CatalogueRunDetail, CatalogueSongRow, SongsPage } from '../../src/server/catalogue-api.ts';
import { useCatalogueSongs } from '../api/catalogue-queries.ts';
import { SeverityLabel, severityWords } from '../parts/severity.tsx';
import { clock, count, figure, inUnit } from '../words/figures.ts';
import { outlierWords } from './middles.tsx';
import type { SongFilter, TableState } from './table-state.ts';

const columns = [
  { sort: 'name', word: 'Song', unit: '' },
  { sort: 'mend', word: 'Verdict', unit: '' },
  { sort: 'lufs', word: 'Loudness', unit: 'LUFS' },
  { sort: 'truePeak', word: 'True peak', unit: 'dBTP' },
  { sort: 'plr', word: 'PLR', unit: 'dB' },
  { sort: 'range', word: 'Range', unit: 'LU' },
  { sort: 'tilt', word: 'Tilt', unit: 'dB/oct' },
  { sort: 'seconds', word: 'Length', unit: 'min:s' },
  { sort: 'took', word: 'Took', unit: 's' },
] as const;

/** The songs of a run, a page at a time; the server sorts, filters and turns. */
export function SongTable({ run, table }: { run: CatalogueRunDetail; table: TableState }) {
  const page = useCatalogueSongs(run.id, table.query, run.endedMs === null);
  return (
    <section className="entry" aria-labelledby="songs">
      <div className="margin">
        <Find table={table} />
        <p className="paperwork">
          <a href={`/api/catalogue/runs/${run.id}/export?format=csv`} download>
            All songs as CSV
          </a>
          <a href={`/api/catalogue/runs/${run.id}/export?format=jsonl`} download>
            as JSON Lines
          </a>
        </p>
      </div>
      <div className="body">
        <h2 id="songs">The songs</h2>
        <Narrowed table={table} run={run} />
        {page.isError && <p className="sentence">{page.error.message}</p>}
        {!page.data && !page.isError && <p className="note">Reading the songs…</p>}
        {page.data && <Rows runId={run.id} page={page.data} table={table} />}
      </div>
    </section>
  );
}

/** Asks the server when typing has paused, not at every letter. */
function Find({ table }: { table: TableState }) {
  const asked = table.filter.text ?? '';
  const [text, setText] = useState(asked);
  useEffect(() => setText(asked), [asked]);
  useEffect(() => {
    if (text.trim() === asked) return;
    const timer = setTimeout(() => table.show({ ...table.filter, text: text.trim() || undefined }), 300);
    return () => clearTimeout(timer);
  });
  return (
    <div className="new-set">
      <label htmlFor="find-song" className="note">
        Find in names
      </label>
      <input
        id="find-song"
        type="search"
        maxLength={200}
        autoComplete="off"
        value={text}
        onChange={(event) => setText(event.target.value)}
      />
    </div>
  );
}

/** What the table is narrowed down to, and the ways out. */
function Narrowed({ table, run }: { table: TableState; run: CatalogueRunDetail }) {
  const parts = Object.keys(table.filter) as (keyof SongFilter)[];
  if (parts.length === 0) return null;
  return (
    <ul className="narrowed" aria-label="Only songs that are">
      {parts.map((key) => (
        <li key={key}>
          <span>{filterWords(key, table.filter, run)}</span>
          <button
            type="button"
            className="plain"
            aria-label={`Not only: ${filterWords(key, table.filter, run)}`}
            onClick={() => table.show({ ...table.filter, [key]: undefined })}
          >
            ×
          </button>
        </li>
      ))}
      {parts.length > 1 && (
        <li>
          <button type="button" className="plain" onClick={() => table.show({})}>
            All songs
          </button>
        </li>
      )}
    </ul>
  );
}

const stateWords = {
  waiting: 'waiting',
  working: 'being checked',
  done: 'checked',
  failed: 'not checked: failed',
  stopped: 'left undone',
};

function filterWords(key: keyof SongFilter, filter: SongFilter, run: CatalogueRunDetail): string {
  if (key === 'state' && filter.state) return stateWords[filter.state] ?? filter.state;
  if (key === 'worst' && filter.worst) return (severityWords[filter.worst] ?? filter.worst).toLowerCase();
  if (key === 'rule') return run.rules.find(({ rule }) => rule === filter.rule)?.title ?? filter.rule ?? '';
  if (key === 'outlier' && filter.outlier)
    return `far from the middle in ${outlierWords[filter.outlier]?.word ?? filter.outlier}`;
  if (key === 'text') return `named “${filter.text}”`;
  return filter[key] ?? '';
}

function Rows({ runId, page, table }: { runId: string; page: SongsPage; table: TableState }) {
  const { songs, total, next, previous } = page;
  if (songs.length === 0)
    return <p className="sentence">No song is so. {total > 0 && 'Turn back to the first page.'}</p>;
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard */}
      <section className="scroll" aria-label="Table of songs" tabIndex={0}>
        <table className="catalogue-songs">
          <thead>
            <tr>
              {columns.map(({ sort, word, unit }) => (
                <th
                  key={sort}
                  scope="col"
                  className={sort === 'name' || sort === 'mend' ? '' : 'num'}
                  aria-sort={
                    table.sort === sort ? (table.descending ? 'descending' : 'ascending') : undefined
                  }
                >
                  <button type="button" className="plain" onClick={() => table.sortBy(sort)}>
                    {word}
                    {table.sort === sort && <span aria-hidden="true">{table.descending ? ' ↓' : ' ↑'}</span>}
                  </button>{' '}
                  <small>{unit}</small>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {songs.map((song) => (
              <SongLine key={song.seq} runId={runId} song={song} />
            ))}
          </tbody>
        </table>
      </section>
      <nav className="turn" aria-label="Pages of songs">
        <span className="note num">{count(total, 'song').replace(/^\d+/, thousands(total))}</span>
        <button type="button" className="plain" disabled={previous === null} onClick={() => table.turn(null)}>
          First
        </button>
        <button
          type="button"
          className="plain"
          disabled={previous === null}
          onClick={() => previous && table.turn({ before: previous })}
        >
          ← Earlier
        </button>
        <button
          type="button"
          className="plain"
          disabled={next === null}
          onClick={() => next && table.turn({ after: next })}
        >
          Later →
        </button>
      </nav>
    </>
  );
}

function SongLine({ runId, song }: { runId: string; song: CatalogueSongRow }) {
  return (
    <tr>
      <th scope="row">
        <Link href={`/catalogue/${runId}/songs/${song.seq}`} className="title-link">
          {song.name}
        </Link>
      </th>
      <td>
        <Standing song={song} />
      </td>
      <td className="num">{inUnit(song.integratedLufs, 'LUFS')}</td>
      <td className="num">{inUnit(song.truePeakDbtp, 'dBTP')}</td>
      <td className="num">{figure(song.plrDb)}</td>
      <td className="num">{figure(song.rangeLu)}</td>
      <td className="num">{figure(song.tiltDbPerOctave)}</td>
      <td className="num">{song.seconds === null ? '–' : clock(song.seconds)}</td>
      <td className="num">{figure(song.tookSeconds)}</td>
    </tr>
  );
}

/** The verdict in a few words, or why there is none. */
export function Standing({ song }: { song: CatalogueSongRow }) {
  const { state, worst, mendCount, lookCount, error } = song;
  if (state === 'done' && worst)
    return (
      <SeverityLabel
        severity={worst}
        text={
          worst === 'mend' ? `${mendCount} to mend` : worst === 'look' ? `${lookCount} worth a look` : 'Fine'
        }
      />
    );
  return (
    <span className="note">
      {stateWords[state]}
      {error && (
        <>
          {' '}
          <code>{error.code}</code>
        </>
      )}
    </span>
  );
}
