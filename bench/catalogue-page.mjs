// What the page asks of a catalogue of 100,000 songs, as often as a person would press: the slowest in a hundred. EVERYROOM_BENCH_SONGS
// sets another number of songs.
import { performance } from 'node:perf_hooks';
import { CompiledQuery } from 'kysely';
import { built, eachPlace } from './lib/catalogue.mjs';

const count = Number(process.env.EVERYROOM_BENCH_SONGS ?? 100_000);
const asked = 400;
const say = (text) => process.stdout.write(`${text}\n`);
const rules = [
  'over-limited',
  'too-bassy',
  'turned-down',
  'lossy-overs',
  'clicks',
  'wrong-sample-rate',
  'hum',
  'fade-cut',
];

export async function bench() {
  await eachPlace(async ({ name, at }) => {
    const adapter = await open(at);
    try {
      await ask(name, adapter);
    } finally {
      await adapter.close();
    }
  });
}

async function open({ homePath, databaseUrl }) {
  const { openSqlite } = await built('catalogue/store/sqlite.js');
  const { openPostgres } = await built('catalogue/store/postgres.js');
  return databaseUrl
    ? openPostgres({ url: databaseUrl, pauseMs: 0 })
    : openSqlite({ path: `${homePath}/catalogue.db`, pauseMs: 0 });
}

async function ask(name, adapter) {
  const { Runs } = await built('catalogue/store/runs.js');
  const { Looking } = await built('catalogue/looking/looking.js');
  const { songSortNames } = await built('catalogue/looking/song-sorts.js');
  const { SeededRandom } = await built('signal/seeded-random.js');
  const runs = new Runs(adapter, 30_000);
  const random = new SeededRandom(1);
  const next = () => random.unit();
  const filled = performance.now();
  const run = await fill(adapter, runs, next);
  say(`${name}: ${count} songs made up in ${((performance.now() - filled) / 1000).toFixed(1)} s`);

  const pick = (values) => values[Math.floor(next() * values.length)];
  const query = () => ({
    sort: pick(songSortNames),
    descending: next() < 0.5,
    limit: 50,
    ...pick([
      {},
      { worst: pick(['mend', 'look', 'fine']) },
      { state: pick(['done', 'failed']) },
      { rule: pick(rules) },
      { text: pick(['river', 'night 1', '99', 'é']) },
      { outlier: pick(['lufs', 'plr']) },
    ]),
  });
  /** The slowest page of each kind of question, to see where to look. */
  const slowest = new Map();
  const table = [];
  const summary = [];
  const whole = new Looking(adapter.db, runs);
  // Known before a person can press anything: the page shows it first.
  await whole.middles(run);
  for (let i = 0; i < asked; i++) {
    const wanted = query();
    let began = performance.now();
    const first = await whole.songs(run, wanted);
    const took = performance.now() - began;
    table.push(took);
    const kind = Object.keys(wanted)[3] ?? 'all';
    if (took > (slowest.get(kind)?.took ?? 0)) slowest.set(kind, { took, wanted });
    if (first.next && i % 2 === 0) {
      began = performance.now();
      await whole.songs(run, { ...wanted, after: first.next });
      table.push(performance.now() - began);
    }
    if (i % 20 === 0) {
      // As if nobody had asked before: nothing is remembered.
      const fresh = new Looking(adapter.db, runs);
      for (const work of [() => fresh.counts(run.id), () => fresh.rules(run), () => fresh.faults(run.id)]) {
        began = performance.now();
        await work();
        summary.push(performance.now() - began);
      }
    }
  }
  const began = performance.now();
  await new Looking(adapter.db, runs).middles(run);
  const middles = performance.now() - began;
  say(`${name}: a page of the table: ${told(table)} (p99 at most 100 ms)`);
  for (const [kind, { took, wanted }] of slowest)
    say(
      `  slowest with ${kind}: ${took.toFixed(0)} ms, by ${wanted.sort}${kind === 'all' ? '' : ` (${wanted[kind]})`}`,
    );
  say(`${name}: counts, rules and failures, nothing remembered: ${told(summary)} (p99 at most 100 ms)`);
  say(`${name}: the middles, once a run: ${middles.toFixed(0)} ms`);
}

function told(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))].toFixed(1);
  return `median ${at(0.5)} ms, p99 ${at(0.99)} ms, slowest ${at(1)} ms of ${sorted.length}`;
}

const words = ['River', 'Night', 'Orchard', 'Copper', 'Tide', 'Glass', 'Machine', 'Café', 'Winter', 'Engine'];

/** A run with made-up songs, about two findings each. */
async function fill({ db, kind }, runs, next) {
  const { sortName } = await built('catalogue/store/runs.js');
  const about = { what: 'made up', profile: 'streaming', kind: 'master', lossy: false, engine: 'bench' };
  const id = await runs.start({ ...about, listedBy: 'bench' });
  const around = (middle, spread) => middle + spread * (next() + next() + next() - 1.5);
  for (let from = 0; from < count; from += 500) {
    const songs = [];
    const findings = [];
    for (let seq = from + 1; seq <= Math.min(count, from + 500); seq++) {
      const failed = next() < 0.01;
      const found = failed ? [] : rules.filter(() => next() < 0.25);
      const name = `${words[Math.floor(next() * words.length)]} ${words[Math.floor(next() * words.length)]} ${seq}.wav`;
      const mend = found.filter((_, i) => i % 3 === 0).length;
      const look = found.length - mend;
      songs.push({
        run_id: id,
        seq,
        source: `/music/masters/${seq % 1000}/${name}`,
        source_key: String(seq).padStart(32, '0'),
        name,
        sort_name: sortName(name),
        state: failed ? 'failed' : 'done',
        tries: 1,
        job: '',
        try_after_ms: 0,
        sha256: String(seq).padStart(64, '0'),
        error_code: failed ? 'SOUND_DAMAGED' : null,
        error_message: failed ? 'It is damaged.' : null,
        measured: failed ? null : 1,
        took_ms: around(4000, 1500),
        ended_ms: Date.now(),
        worst: failed ? null : mend > 0 ? 'mend' : look > 0 ? 'look' : 'fine',
        headline: failed ? null : 'This can leave the bench.',
        mend_count: failed ? null : mend,
        look_count: failed ? null : look,
        integrated_lufs: failed ? null : around(-13, 4),
        true_peak_dbtp: failed ? null : around(-1, 1.5),
        plr_db: failed ? null : around(11, 4),
        range_lu: failed ? null : around(6, 4),
        tilt_db: failed ? null : around(-2, 1),
        seconds: failed ? null : around(230, 90),
      });
      for (const [i, rule] of found.entries())
        findings.push({
          run_id: id,
          rule,
          severity: i % 3 === 0 ? 'mend' : 'look',
          seq,
          title: `About ${rule}`,
        });
    }
    await db.transaction().execute(async (tx) => {
      await tx.insertInto('catalogue_songs').values(songs).execute();
      if (findings.length > 0) await tx.insertInto('catalogue_findings').values(findings).execute();
    });
  }
  await runs.endList(id, 0);
  // What Postgres does by itself within a minute of so many rows.
  if (kind === 'postgres') await db.executeQuery(CompiledQuery.raw('VACUUM ANALYZE'));
  return runs.get(id);
}
