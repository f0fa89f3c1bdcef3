// A worker process as `everyroom catalogue work` is one, with a short lease, for tests that kill it.
// node catalogue-worker.mjs THREADS LEASE_MS [HOME]; DATABASE_URL names a database. Says 'working' when it begins.
import { tmpdir } from 'node:os';
import { Pool } from '../../dist/src/bench/pool.js';
import { Catalogue } from '../../dist/src/catalogue/catalogue.js';
import { Worker } from '../../dist/src/catalogue/work/worker.js';

const [threads, lease, homePath] = process.argv.slice(2);
const leaseMs = Number(lease);
const databaseUrl = process.env.DATABASE_URL;
const catalogue = await Catalogue.open({ databaseUrl, homePath, leaseMs, pauseMs: 0 });
const pool = new Pool({ size: Number(threads) });
const worker = new Worker(catalogue, {
  pool,
  scratch: tmpdir(),
  fetching: { allowPrivate: false, maxBytes: 1e9, idleMs: 5000, totalMs: 60_000 },
  beatMs: leaseMs / 3,
  idleMs: 50,
});
process.on('SIGTERM', () => worker.drain());
process.stdout.write('working\n');
await worker.run();
await pool.close();
await catalogue.close();
