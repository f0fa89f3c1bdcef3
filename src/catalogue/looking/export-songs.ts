import type { FileReport } from '../../judge/file-report.ts';
import type { Run } from '../store/runs.ts';
import type { Looking } from './looking.ts';
import type { CatalogueSong } from './song-page.ts';

export const exportFormats = ['csv', 'jsonl'] as const;
export type ExportFormat = (typeof exportFormats)[number];

const pageSongs = 1000;

/**
 * A run's songs as text, a line each, in the order of the list: CSV (RFC 4180, UTF-8, a head), or JSON Lines. Read page by page, so
 * memory stays flat. With `reports`, each JSON line has the whole verdict in it.
 */
export async function* exportSongs(
  looking: Looking,
  run: Run,
  format: ExportFormat,
  reports = false,
): AsyncGenerator<string> {
  if (format === 'csv') yield `${csvLine(Object.keys(columns))}`;
  let after: string | undefined;
  do {
    const page = await looking.songs(run, {
      sort: 'order',
      descending: false,
      limit: pageSongs,
      ...(after === undefined ? {} : { after }),
    });
    let text = '';
    for (const song of page.songs) {
      if (format === 'csv') text += csvLine(Object.values(columns).map((read) => read(song)));
      else text += jsonLine(song, reports ? await looking.report(run, song) : undefined);
    }
    yield text;
    after = page.next ?? undefined;
  } while (after !== undefined);
}

type Cell = string | number | null;

/** Heads and contents of the CSV; 'path' comes first, so that what was written can be read again as a list. */
const columns: Readonly<Record<string, (song: CatalogueSong) => Cell>> = {
  path: ({ source }) => source,
  name: ({ name }) => tame(name),
  state: ({ state }) => state,
  worst: ({ worst }) => worst,
  to_mend: ({ mendCount }) => mendCount,
  worth_a_look: ({ lookCount }) => lookCount,
  headline: ({ headline }) => headline && tame(headline),
  integrated_lufs: ({ integratedLufs }) => integratedLufs,
  true_peak_dbtp: ({ truePeakDbtp }) => truePeakDbtp,
  plr_db: ({ plrDb }) => plrDb,
  loudness_range_lu: ({ rangeLu }) => rangeLu,
  tilt_db_per_octave: ({ tiltDbPerOctave }) => tiltDbPerOctave,
  seconds: ({ seconds }) => seconds,
  sha256: ({ sha256 }) => sha256,
  error_code: ({ error }) => error?.code ?? null,
  error: ({ error }) => error && tame(error.message),
  tries: ({ tries }) => tries,
  took_seconds: ({ tookSeconds }) => tookSeconds,
};

/** A spreadsheet would take such a text for a formula and run it. */
const tame = (text: string): string => (/^[=+\-@\t\r]/.test(text) ? `'${text}` : text);

function csvLine(cells: readonly Cell[]): string {
  const quoted = cells.map((cell) => {
    const text = cell === null ? '' : String(cell);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  });
  return `${quoted.join(',')}\r\n`;
}

function jsonLine(song: CatalogueSong, report: FileReport | null | undefined): string {
  return `${JSON.stringify(report === undefined ? song : { ...song, report })}\n`;
}
