import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { exportSongs } from '../../src/catalogue/looking/export-songs.ts';
import { Looking } from '../../src/catalogue/looking/looking.ts';
import type { SongQuery } from '../../src/catalogue/looking/song-page.ts';
import { songSortNames, songSorts } from '../../src/catalogue/looking/song-sorts.ts';
import { type Run, Runs, sortName } from '../../src/catalogue/store/runs.ts';
import type { Adapter } from '../../src/catalogue/store/song-queue.ts';
import { seeded } from '../seeded-sound.ts';
import { type Place, places } from './catalogue-support.ts';

const count = 300;
const names = ['Ärger', 'apple', 'Zebra 100%', 'a_b', 'a!b', '=sum', '"quoted", with commas', 'line\nbreak'];

/** Songs with figures that often tie, in every state. */
function madeUp(runId: string) {
  const next = seeded(5);
  const pick = <T>(values: readonly T[]): T => values[Math.floor(next() * values.length)];
  return Array.from({ length: count }, (_, i) => {
    const state = pick(['done', 'done', 'done', 'failed', 'waiting'] as const);
    const worst = state === 'done' ? pick(['mend', 'look', 'fine'] as const) : null;
    const figure = (from: number, to: number): number | null =>
      state !== 'done' || next() < 0.1 ? null : Math.round(from + next() * (to - from));
    const name = `${pick(names)} ${Math.floor(next() * 90)}`;
    return {
      run_id: runId,
      seq: i + 1,
      source: `/songs/${i}`,
      source_key: `key ${i}`,
      name,
      sort_name: sortName(name),
      state,
      tries: 1,
      job: '',
      try_after_ms: 0,
      error_code: state === 'failed' ? pick(['SOUND_DAMAGED', 'FILE_EMPTY']) : null,
      measured: state === 'done' ? 1 : null,
      took_ms: figure(10, 40),
      worst,
      headline: name,
      mend_count: worst === 'mend' ? 2 : worst && 0,
      look_count: worst === 'look' ? 1 : worst && 0,
      integrated_lufs: i === 7 && state === 'done' ? -70 : figure(-20, -6),
      true_peak_dbtp: figure(-4, 1),
      plr_db: figure(5, 15),
      range_lu: figure(2, 14),
      tilt_db: figure(-4, 0),
      seconds: figure(100, 300),
    };
  });
}

describe.each(places)('looking at a catalogue in $name', ({ open, openAdapter }) => {
  let place: Place;
  let adapter: Adapter;
  let looking: Looking;
  let run: Run;
  let rows: ReturnType<typeof madeUp>;
  beforeAll(async () => {
    place = await open();
    adapter = await openAdapter(await place.fresh());
    const runs = new Runs(adapter, 1000);
    looking = new Looking(adapter.db, runs);
    const about = { what: 'made up', profile: 'streaming', kind: 'master', lossy: false } as const;
    const id = await runs.start({ ...about, engine: 'e', listedBy: 'nobody' });
    rows = madeUp(id);
    await adapter.db.insertInto('catalogue_songs').values(rows).execute();
    const findings = rows
      .filter(({ worst, seq }) => worst === 'mend' && seq % 2 === 0)
      .map(({ seq }) => ({ run_id: id, rule: 'made-up', severity: 'mend' as const, seq, title: 'Made up' }));
    await adapter.db.insertInto('catalogue_findings').values(findings).execute();
    run = await runs.get(id);
  });
  afterAll(async () => {
    await adapter.close();
    await place[Symbol.asyncDispose]();
  });

  const wanted = (query: Partial<SongQuery>) =>
    rows.filter(
      (row) =>
        (!query.state || row.state === query.state) &&
        (!query.worst || row.worst === query.worst) &&
        (!query.code || row.error_code === query.code) &&
        (!query.text || row.sort_name.includes(sortName(query.text))) &&
        (!query.rule || (row.worst === 'mend' && row.seq % 2 === 0)),
    );

  test('pages forth and back are the songs as sorted and filtered by hand', async () => {
    const text = fc.constantFrom('arger', 'ÄRG', '100%', 'a_b', 'a!b', '1', 'nowhere', "'");
    const worst = fc.constantFrom('mend' as const, 'look' as const, 'fine' as const);
    // Mostly one filter: more of them leave too little to turn pages in.
    const filters = fc.oneof(
      fc.constant({}),
      fc.record({ state: fc.constantFrom('done' as const, 'failed' as const, 'waiting' as const) }),
      fc.record({ worst }),
      fc.record({ code: fc.constantFrom('SOUND_DAMAGED', 'FILE_EMPTY') }),
      fc.record({ rule: fc.constant('made-up') }),
      fc.record({ text }),
      fc.record({ worst, text }),
    );
    const orders = fc.record({
      sort: fc.constantFrom(...songSortNames),
      descending: fc.boolean(),
      limit: fc.constantFrom(7, 40, 200),
    });
    const queries = fc.tuple(orders, filters).map(([order, filter]): SongQuery => ({ ...order, ...filter }));
    await fc.assert(
      fc.asyncProperty(queries, async (query) => {
        const column = songSorts[query.sort];
        const value = (row: (typeof rows)[number]) => row[column] ?? Number.NEGATIVE_INFINITY;
        const sign = query.descending ? -1 : 1;
        const expected = wanted(query)
          .sort((a, b) => sign * (value(a) < value(b) ? -1 : value(a) > value(b) ? 1 : a.seq - b.seq))
          .map(({ seq }) => seq);
        const forth: number[] = [];
        const back: number[] = [];
        let page = await looking.songs(run, query);
        expect(page.previous).toBeNull();
        forth.push(...page.songs.map(({ seq }) => seq));
        while (page.next !== null) {
          page = await looking.songs(run, { ...query, after: page.next });
          forth.push(...page.songs.map(({ seq }) => seq));
          expect(page.total).toBe(expected.length);
        }
        expect(forth).toEqual(expected);
        back.unshift(...page.songs.map(({ seq }) => seq));
        while (page.previous !== null) {
          page = await looking.songs(run, { ...query, before: page.previous });
          back.unshift(...page.songs.map(({ seq }) => seq));
        }
        expect(back).toEqual(expected);
      }),
      { numRuns: 60, seed: 11 },
    );
  });

  test('counts, rules and faults are those of the songs', async () => {
    const counts = await looking.counts(run.id);
    expect(counts).toMatchObject({
      total: count,
      done: wanted({ state: 'done' }).length,
      failed: wanted({ state: 'failed' }).length,
      waiting: wanted({ state: 'waiting' }).length,
      mend: wanted({ worst: 'mend' }).length,
      fine: wanted({ worst: 'fine' }).length,
    });
    expect(await looking.rules(run)).toEqual([
      { rule: 'made-up', severity: 'mend', songs: wanted({ rule: 'made-up' }).length, title: 'Made up' },
    ]);
    const faults = await looking.faults(run.id);
    for (const { code, songs } of faults) expect(songs).toBe(wanted({ code, state: 'failed' }).length);
    expect(faults).toHaveLength(2);
  });

  test('the middle is that of the figures, and what lies far off can be listed', async () => {
    const middles = await looking.middles(run);
    expect(middles.map(({ figure }) => figure)).toEqual(['lufs', 'truePeak', 'plr', 'range', 'tilt']);
    for (const middle of middles) {
      const values = rows.flatMap((row) => row[songSorts[middle.figure]] ?? []).sort((a, b) => a - b);
      const rank = (share: number) => values[Math.floor(share * values.length)];
      expect(middle).toMatchObject({
        songs: values.length,
        lowerQuartile: rank(0.25),
        median: rank(0.5),
        upperQuartile: rank(0.75),
      });
      const far = values.filter((value) => value < middle.low || value > middle.high);
      expect(middle.below + middle.above).toBe(far.length);
      const page = await looking.songs(run, {
        sort: 'order',
        descending: false,
        limit: 200,
        outlier: middle.figure,
      });
      expect(page.total).toBe(far.length);
    }
    expect(middles[0].below).toBe(rows[7].integrated_lufs === -70 ? 1 : 0);
  });

  test('the export reads back as the songs, and no cell is a formula', async () => {
    let text = '';
    for await (const part of exportSongs(looking, run, 'csv')) text += part;
    const [head, ...lines] = parse(text, { relax_quotes: false }) as string[][];
    expect(lines.map(([path]) => path)).toEqual(rows.map(({ source }) => source));
    const at = (column: string) => lines.map((line) => line[head.indexOf(column)]);
    expect(at('name').map((name) => name.replace(/^'/, ''))).toEqual(rows.map(({ name }) => name));
    expect(at('name').filter((name) => name.startsWith('='))).toEqual([]);
    expect(at('integrated_lufs')).toEqual(rows.map((row) => String(row.integrated_lufs ?? '')));
    let json = '';
    for await (const part of exportSongs(looking, run, 'jsonl')) json += part;
    const objects = json
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as { name: string });
    expect(objects.map(({ name }) => name)).toEqual(rows.map(({ name }) => name));
  });

  test('a place in the list that is none is refused', async () => {
    for (const after of [
      '',
      'x',
      Buffer.from('["a",1]').toString('base64url'),
      Buffer.from('[1]').toString('base64url'),
    ])
      await expect(
        looking.songs(run, { sort: 'lufs', descending: false, limit: 5, after }),
      ).rejects.toMatchObject({ code: 'REQUEST_INVALID' });
  });
});
