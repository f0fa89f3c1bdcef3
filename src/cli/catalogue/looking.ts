import type { Catalogue } from '../../catalogue/catalogue.ts';
import type { FaultCount, RuleCount, RunCounts } from '../../catalogue/looking/answers.ts';
import type { ChangedSong, Comparison, ShortVerdict } from '../../catalogue/looking/compare-runs.ts';
import type { Middle } from '../../catalogue/looking/middles.ts';
import type { CatalogueSong } from '../../catalogue/looking/song-page.ts';
import type { Run } from '../../catalogue/store/runs.ts';
import { duration, thousands } from '../../judge/amounts.ts';
import { figure } from '../../judge/wording.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { printable } from '../terminal/printable.ts';
import { table } from '../terminal/table.ts';
import { findRun, withCatalogue } from './open.ts';

/** All that is printed of a run. */
export interface PrintedRun {
  readonly run: Run;
  readonly counts: RunCounts;
  readonly rules: RuleCount[];
  readonly faults: FaultCount[];
  readonly middles: Middle[];
  readonly failed: CatalogueSong[];
  readonly slowest: CatalogueSong[];
}

const fewSongs = 10;

export async function printed({ looking }: Catalogue, run: Run): Promise<PrintedRun> {
  const some = { limit: fewSongs, descending: true } as const;
  return {
    run,
    counts: await looking.counts(run.id),
    rules: await looking.rules(run),
    faults: await looking.faults(run.id),
    middles: await looking.middles(run),
    failed: (await looking.songs(run, { ...some, descending: false, sort: 'order', state: 'failed' })).songs,
    slowest: (await looking.songs(run, { ...some, sort: 'took', state: 'done' })).songs,
  };
}

export async function showRun(wanted: string, json: boolean): Promise<ExitCode> {
  return withCatalogue(async (catalogue) => {
    const shown = await printed(catalogue, await findRun(catalogue, wanted));
    process.stdout.write(json ? `${JSON.stringify(shown, null, 2)}\n` : runText(shown));
    return exitCodes.nothingToMend;
  });
}

export async function listRuns(json: boolean): Promise<ExitCode> {
  return withCatalogue(async (catalogue) => {
    const runs = await catalogue.runs.all();
    const counted = await Promise.all(
      runs.map(async (run) => ({ ...run, counts: await catalogue.looking.counts(run.id) })),
    );
    if (json) process.stdout.write(`${JSON.stringify({ runs: counted }, null, 2)}\n`);
    else if (counted.length === 0)
      process.stdout.write('There is no run yet; “everyroom catalogue check FOLDER” makes one.\n');
    else
      process.stdout.write(
        lines(
          table(
            [
              { head: 'run', align: 'left' },
              { head: 'started', align: 'left' },
              { head: 'songs', align: 'right' },
              { head: 'to mend', align: 'right' },
              { head: 'failed', align: 'right' },
              { head: 'left', align: 'right' },
              { head: 'of', align: 'left' },
            ],
            counted.map(({ id, startedMs, counts, what }) => [
              id,
              moment(startedMs),
              thousands(counts.total),
              thousands(counts.mend),
              thousands(counts.failed),
              thousands(counts.waiting + counts.working),
              printable(what),
            ]),
          ),
        ),
      );
    return exitCodes.nothingToMend;
  });
}

export async function compareTwo(before: string, after: string, json: boolean): Promise<ExitCode> {
  return withCatalogue(async (catalogue) => {
    const earlier = await findRun(catalogue, before);
    const later = await findRun(catalogue, after);
    const comparison = await catalogue.looking.compare(earlier, later);
    process.stdout.write(
      json ? `${JSON.stringify(comparison, null, 2)}\n` : comparisonText(comparison, earlier, later),
    );
    return comparison.worse > 0 ? exitCodes.somethingToMend : exitCodes.nothingToMend;
  });
}

export async function stopRun(wanted: string): Promise<ExitCode> {
  return withCatalogue(async (catalogue) => {
    const run = await findRun(catalogue, wanted);
    const left = await catalogue.runs.stop(run.id);
    process.stdout.write(`${thousands(left)} songs of run ${run.id} are left undone.\n`);
    return exitCodes.nothingToMend;
  });
}

const lines = (rows: readonly string[]): string => rows.map((row) => `${row}\n`).join('');
const moment = (ms: number): string => new Date(ms).toISOString().slice(0, 16).replace('T', ' ');

/** A run for people: a sentence, then tables of what is worth a look. */
export function runText({ run, counts, rules, faults, middles, failed, slowest }: PrintedRun): string {
  if (counts.total === 0 && run.endedMs !== null) return `There are no songs in ${printable(run.what)}.\n`;
  const parts = [
    `${thousands(counts.mend)} with something to mend`,
    `${thousands(counts.look)} worth a look`,
    `${thousands(counts.fine)} fine`,
    ...(counts.failed > 0 ? [`${thousands(counts.failed)} could not be checked`] : []),
    ...(counts.stopped > 0 ? [`${thousands(counts.stopped)} left undone`] : []),
    ...(counts.waiting + counts.working > 0
      ? [`${thousands(counts.waiting + counts.working)} not done yet`]
      : []),
  ];
  const took = run.endedMs === null ? '' : ` in ${duration((run.endedMs - run.startedMs) / 1000)}`;
  const known = counts.done - counts.measured;
  let text = `${thousands(counts.total)} songs: ${parts.join(', ')}.\n`;
  text += `${thousands(counts.measured)} measured${known > 0 ? `, ${thousands(known)} known from before` : ''}${took}. Run ${run.id}, ${run.profile}${run.lossy ? ', with lossy coding' : ''}.\n`;
  if (rules.length > 0)
    text += `\n${lines(
      table(
        [
          { head: 'songs', align: 'right' },
          { head: '', align: 'left' },
          { head: 'rule', align: 'left' },
          { head: 'as one of them has it', align: 'left' },
        ],
        rules.map(({ songs, severity, rule, title }) => [thousands(songs), severity, rule, printable(title)]),
      ),
    )}`;
  if (faults.length > 0) {
    text += `\nNot checked: ${faults.map(({ code, songs }) => `${thousands(songs)} ${code}`).join(', ')}\n`;
    for (const { name, error } of failed)
      text += `  ${printable(name)}: ${printable(error?.message ?? '')}\n`;
    if (counts.failed > failed.length) text += `  and ${thousands(counts.failed - failed.length)} more\n`;
  }
  if (middles.length > 0)
    text += `\n${lines(
      table(
        [
          { head: 'the catalogue’s own middle', align: 'left' },
          { head: 'middle half', align: 'right' },
          { head: 'median', align: 'right' },
          { head: 'far below', align: 'right' },
          { head: 'far above', align: 'right' },
        ],
        middles.map((middle) => [
          figureNames[middle.figure],
          `${figure(middle.lowerQuartile)} to ${figure(middle.upperQuartile)}`,
          figure(middle.median),
          thousands(middle.below),
          thousands(middle.above),
        ]),
      ),
    )}`;
  if (slowest.length > 0 && counts.measured > fewSongs)
    text += `\nSlowest: ${slowest
      .slice(0, 3)
      .map(({ name, tookSeconds }) => `${printable(name)} (${(tookSeconds ?? 0).toFixed(1)} s)`)
      .join(', ')}\n`;
  return text;
}

const figureNames: Record<Middle['figure'], string> = {
  lufs: 'loudness, LUFS',
  truePeak: 'true peak, dBTP',
  plr: 'PLR, dB',
  range: 'loudness range, LU',
  tilt: 'tilt, dB an octave',
};

export function comparisonText(comparison: Comparison, earlier: Run, later: Run): string {
  const { better, worse, same, moved, added, gone } = comparison;
  const differs = (['profile', 'kind', 'lossy', 'engine'] as const).filter(
    (key) => earlier[key] !== later[key],
  );
  let text = differs
    .map((key) => `The runs differ in ${key}: ${earlier[key]} before, ${later[key]} now.\n`)
    .join('');
  text += `Against the earlier run: ${thousands(better)} better, ${thousands(worse)} worse, ${thousands(same)} as before`;
  if (added > 0) text += `, ${thousands(added)} new`;
  if (gone > 0) text += `, ${thousands(gone)} not there any more`;
  text += `. Loudness or true peak reads differently in ${thousands(moved)}.\n`;
  text += changes('Worse', comparison.worseSongs, worse);
  text += changes('Better', comparison.betterSongs, better);
  return text;
}

function changes(title: string, songs: readonly ChangedSong[], all: number): string {
  if (all === 0) return '';
  const shown = songs.slice(0, fewSongs);
  const rows = shown.map(
    ({ name, before, after }) => `  ${printable(name)}: ${verdict(before)} → ${verdict(after)}\n`,
  );
  const more = all > shown.length ? `  and ${thousands(all - shown.length)} more\n` : '';
  return `${title}:\n${rows.join('')}${more}`;
}

function verdict({ worst, mendCount, lookCount }: ShortVerdict): string {
  if (worst === 'failed') return 'not checked';
  if (worst === 'fine') return 'fine';
  return [mendCount > 0 ? `${mendCount} to mend` : '', lookCount > 0 ? `${lookCount} worth a look` : '']
    .filter((part) => part !== '')
    .join(', ');
}
