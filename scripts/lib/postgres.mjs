// A Postgres server of a test's or bench's own: in a folder that goes away with it, reached by a socket there and by
// nothing else, run by an unprivileged user.
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { chownSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const debianFolder = '/usr/lib/postgresql';

/** Folder of the newest Postgres' programs, which Debian keeps out of the PATH; null where there is none. */
export function findPostgres() {
  const releases = existsSync(debianFolder) ? readdirSync(debianFolder) : [];
  const folders = releases
    .sort((a, b) => Number(b) - Number(a))
    .map((each) => join(debianFolder, each, 'bin'));
  return folders.find((folder) => existsSync(join(folder, 'initdb'))) ?? null;
}

/** Postgres refuses to run as root; then it runs as its own user, or as nobody. */
function unprivileged() {
  if (process.getuid?.() !== 0) return {};
  const users = readFileSync('/etc/passwd', 'utf8').split('\n');
  const line = (user) => users.find((each) => each.startsWith(`${user}:`));
  const [, , uid, gid] = (line('postgres') ?? line('nobody') ?? '::65534:65534').split(':');
  return { uid: Number(uid), gid: Number(gid) };
}

export class Postgres {
  #folder;
  #programs;
  #user = unprivileged();
  #settings;
  #server = null;
  #databases = 0;

  constructor(programs, folder, settings) {
    this.#programs = programs;
    this.#folder = folder;
    this.#settings = settings;
  }

  /** Makes a server and starts it. Nothing of it outlives the machine, so nothing waits for its disk unless `settings` say so. */
  static async start(settings = ['fsync=off']) {
    const programs = findPostgres();
    if (!programs) throw new Error('Postgres is not installed here.');
    const folder = mkdtempSync(join(tmpdir(), 'everyroom-pg-'));
    const server = new Postgres(programs, folder, settings);
    const { uid, gid } = server.#user;
    if (uid !== undefined) chownSync(folder, uid, gid);
    const options = ['-U', 'everyroom', '-A', 'trust', '-E', 'UTF8', '--locale=C.UTF-8', '-N'];
    execFileSync(join(programs, 'initdb'), ['-D', join(folder, 'data'), ...options], {
      ...server.#user,
      cwd: folder,
      stdio: 'ignore',
    });
    await server.resume();
    return server;
  }

  url(database) {
    return `postgres:///${database}?host=${encodeURIComponent(this.#folder)}&user=everyroom`;
  }

  /** The address of a new, empty database. */
  async database() {
    const name = `made${++this.#databases}`;
    await this.query('postgres', `CREATE DATABASE ${name}`);
    return this.url(name);
  }

  async query(database, text) {
    // Only here: whoever looks whether Postgres is installed may have no libraries yet.
    const { default: pg } = await import('pg');
    const client = new pg.Client({ connectionString: this.url(database) });
    await client.connect();
    try {
      return (await client.query(text)).rows;
    } finally {
      await client.end();
    }
  }

  async resume() {
    const settings = [...this.#settings, 'listen_addresses=', `unix_socket_directories=${this.#folder}`];
    const server = spawn(
      join(this.#programs, 'postgres'),
      ['-D', join(this.#folder, 'data'), ...settings.flatMap((setting) => ['-c', setting])],
      { ...this.#user, cwd: this.#folder, stdio: ['ignore', 'ignore', 'pipe'] },
    );
    this.#server = server;
    // It says itself when it takes connections; what it says later is not wanted, but must be read.
    await new Promise((resolve, reject) => {
      let said = '';
      server.stderr.setEncoding('utf8').on('data', (text) => {
        if (said.length < 100_000) said += text;
        if (said.includes('database system is ready to accept connections')) resolve();
      });
      server.once('exit', () => reject(new Error(`Postgres did not start:\n${said}`)));
    });
  }

  /** Ends it at once, connections and all, as a crash would; SIGINT ends it in good order. */
  async halt(signal = 'SIGQUIT') {
    const server = this.#server;
    this.#server = null;
    if (!server) return;
    server.kill(signal);
    await once(server, 'exit');
  }

  async remove() {
    await this.halt('SIGINT');
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
