// A catalogue being worked on: songs a minute, two workers against one, and 50,000 tiny songs while workers are killed and the
// database is crashed. EVERYROOM_BENCH_SONGS sets another number of tiny songs.
import { once } from 'node:events';
import { appendFileSync, cpSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { setTimeout as sleep } from 'node:timers/promises';
import { root } from '/tmp/wt/catalogue/scripts/lib/root.mjs';
import { built, eachPlace, listed, tinySongs, worker } from '/tmp/wt/catalogue/bench/lib/catalogue.mjs';
import { fourMinutes } from '/tmp/wt/catalogue/bench/lib/song.mjs';
import { race, secondsOf, tell } from '/tmp/wt/catalogue/bench/lib/time.mjs';

const tinyCount = Number(process.env.EVERYROOM_BENCH_SONGS ?? 50_000);
const say = (text) => process.stdout.write(`${text}\n`);

export async function bench() {
  const scratch = mkdtempSync(join(tmpdir(), 'everyroom-bench-songs-'));
  try {
    tinySongs(join(scratch, 'tiny'), tinyCount);
    await eachPlace((place) => queueAlone(place, join(scratch, 'tiny')));
    await eachPlace((place) => killed(place, join(scratch, 'tiny')));
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}

/** Eight songs of four minutes, each of its own content, through the command line. */
async function twoAgainstOne(scratch) {
  const song = await fourMinutes();
  const folder = join(scratch, 'eight');
  mkdirSync(folder);
  const count = 8;
  for (let i = 0; i < count; i++) {
    const copy = join(folder, `${i}.wav`);
    cpSync(song, copy);
    // After the sound, where no reader looks: another content to the hash, the same work.
    appendFileSync(copy, Buffer.from([i, 0]));
  }
  const check = (workers) => {
    const home = mkdtempSync(join(scratch, 'home-'));
    const main = join(root, 'dist/program/main.js');
    const args = [main, 'catalogue', 'check', folder, '--workers', String(workers)];
    return secondsOf(process.execPath, args, { env: { EVERYROOM_HOME: home, DATABASE_URL: '' }, worst: 1 });
  };
  const result = await race(
    () => check(2),
    () => check(1),
    3,
  );
  tell(
    'eight songs of four minutes in a catalogue, two workers against one',
    result,
    'at most 0.56x (1.8 times as fast)',
  );
  const seconds = check(1);
  say(
    `songs a minute and core: ${((60 * count) / seconds).toFixed(1)} (of ${availableParallelism()} cores one worked)`,
  );
}

/** What keeping the books costs: songs taken and written down as fast as it goes, without looking at them. */
async function queueAlone({ name, at }, folder) {
  const { Catalogue } = await built('catalogue/catalogue.js');
  const { ownEngine } = await built('catalogue/engine.js');
  const catalogue = await Catalogue.open(at);
  const report = await anyReport(folder);
  const engine = ownEngine();
  await listed(catalogue, folder);
  const most = 2000;
  const atOnce = 4;
  const facts = Buffer.alloc(2500);
  let songs = 0;
  const began = performance.now();
  const work = async (worker) => {
    while (songs < most) {
      const taken = await catalogue.work.take(worker, engine, 5);
      if (taken.length === 0) return;
      for (const song of taken) {
        const sha256 = String(song.seq).padStart(64, '0');
        await catalogue.work.facts(sha256, engine, false);
        await catalogue.work.finish(worker, { engine, lossy: false }, song, {
          sha256,
          report,
          facts,
          tookMs: 1,
        });
        songs++;
      }
    }
  };
  await Promise.all(Array.from({ length: atOnce }, (_, i) => work(`worker ${i}`)));
  const seconds = (performance.now() - began) / 1000;
  say(
    `the books alone in ${name}: ${(songs / seconds).toFixed(0)} songs a second (one process, ${atOnce} at once)`,
  );
  await catalogue.close();
}

/** The verdict on one tiny song. */
async function anyReport(folder) {
  const { Pool } = await built('bench/pool.js');
  const { checkFile } = await built('bench/check-file.js');
  const pool = new Pool({ size: 1 });
  const checked = await checkFile(join(folder, '0', '0.wav'), { lossy: false }, { pool, results: null });
  await pool.close();
  return checked.report;
}

/** Two worker processes, one of them killed every few seconds; in Postgres, the database too, once. */
async function killed({ name, at, postgres }, folder) {
  const { Catalogue } = await built('catalogue/catalogue.js');
  const leaseMs = 3000;
  const catalogue = await Catalogue.open({ ...at, leaseMs });
  const began = performance.now();
  const id = await listed(catalogue, folder);
  const listedSeconds = (performance.now() - began) / 1000;
  let workers = await Promise.all([worker(at, { leaseMs }), worker(at, { leaseMs })]);
  const counts = () => catalogue.patiently(() => catalogue.looking.counts(id));
  let kills = 0;
  let crashes = 0;
  for (let now = await counts(); now.waiting + now.working > 0; now = await counts()) {
    await sleep(2000 + 3000 * Math.random());
    const [victim, other] = workers;
    victim.kill('SIGKILL');
    if (victim.exitCode === null && victim.signalCode === null) await once(victim, 'exit');
    workers = [other, await worker(at, { leaseMs })];
    kills++;
    if (postgres && crashes === 0 && now.done > tinyCount / 2) {
      await postgres.halt();
      await postgres.resume();
      crashes++;
    }
  }
  const seconds = (performance.now() - began) / 1000;
  for (const each of workers) each.kill('SIGTERM');
  await Promise.all(workers.map((each) => each.exitCode ?? once(each, 'exit')));
  const end = await counts();
  const exact = end.done === tinyCount && end.total === tinyCount && end.failed === 0;
  say(
    `${tinyCount} tiny songs in ${name}: listed in ${listedSeconds.toFixed(1)} s, done in ${seconds.toFixed(1)} s (${((60 * tinyCount) / seconds).toFixed(0)} a minute), ` +
      `${kills} workers killed, database crashed ${crashes} times: ${exact ? 'every song done once' : `NOT EXACT ${JSON.stringify(end)}`}`,
  );
  await catalogue.close();
}
