import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { chownSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';

/** Folder of Postgres' programs (Debian keeps them out of the PATH), or null; then a line says so. */
export const postgresPrograms: string | null = findPrograms();
if (!postgresPrograms)
  process.stderr.write('left out: checks against Postgres, which is not installed here\n');

function findPrograms(): string | null {
  const debian = '/usr/lib/postgresql';
  const releases = existsSync(debian) ? readdirSync(debian).sort((a, b) => Number(b) - Number(a)) : [];
  const found = releases.map((release) => join(debian, release, 'bin'));
  return found.find((folder) => existsSync(join(folder, 'initdb'))) ?? null;
}

/** Postgres refuses to run as root; then it runs as its own user, or as nobody. */
function unprivileged(): { uid: number; gid: number } | null {
  if (process.getuid?.() !== 0) return null;
  const lines = readFileSync('/etc/passwd', 'utf8').split('\n');
  const line = ['postgres', 'nobody'].map((user) => lines.find((each) => each.startsWith(`${user}:`)));
  const [, , uid, gid] = (line[0] ?? line[1] ?? '::65534:65534').split(':');
  return { uid: Number(uid), gid: Number(gid) };
}

/** A Postgres server of the test's own, in a folder that goes away with it; reached by a socket there, by nobody else. */
export class Postgres implements AsyncDisposable {
  readonly #folder: string;
  readonly #programs: string;
  readonly #user = unprivileged();
  #server: ChildProcess | null = null;
  #databases = 0;

  private constructor(programs: string, folder: string) {
    this.#programs = programs;
    this.#folder = folder;
  }

  static async start(): Promise<Postgres> {
    const folder = mkdtempSync(join(tmpdir(), 'everyroom-pg-'));
    const server = new Postgres(postgresPrograms as string, folder);
    if (server.#user) chownSync(folder, server.#user.uid, server.#user.gid);
    execFileSync(
      join(server.#programs, 'initdb'),
      ['-D', join(folder, 'data'), '-U', 'everyroom', '-A', 'trust', '-E', 'UTF8', '--locale=C.UTF-8', '-N'],
      { ...server.#as(), stdio: 'ignore' },
    );
    await server.resume();
    return server;
  }

  /** A new database, empty. */
  async database(): Promise<string> {
    const name = `t${++this.#databases}`;
    await this.query('postgres', `CREATE DATABASE ${name}`);
    return this.url(name);
  }

  url(database: string): string {
    return `postgres:///${database}?host=${encodeURIComponent(this.#folder)}&user=everyroom`;
  }

  async query(database: string, text: string): Promise<Record<string, unknown>[]> {
    const client = new pg.Client({ connectionString: this.url(database) });
    await client.connect();
    try {
      return (await client.query<Record<string, unknown>>(text)).rows;
    } finally {
      await client.end();
    }
  }

  async resume(): Promise<void> {
    // Nothing here outlives the machine, so nothing waits for its disk.
    const settings = ['fsync=off', 'listen_addresses=', `unix_socket_directories=${this.#folder}`];
    this.#server = spawn(
      join(this.#programs, 'postgres'),
      ['-D', join(this.#folder, 'data'), ...settings.flatMap((setting) => ['-c', setting])],
      { ...this.#as(), stdio: ['ignore', 'ignore', 'pipe'] },
    );
    // It says so itself when it takes connections; what it says later is not wanted, but must be read.
    await new Promise<void>((resolve, reject) => {
      let said = '';
      this.#server?.stderr?.setEncoding('utf8').on('data', (text: string) => {
        said += text;
        if (said.includes('database system is ready to accept connections')) resolve();
      });
      this.#server?.once('exit', () => reject(new Error(`Postgres did not start:\n${said}`)));
    });
  }

  /** Ends it at once, connections and all, as a crash of its machine would. */
  async halt(signal: NodeJS.Signals = 'SIGQUIT'): Promise<void> {
    const server = this.#server;
    this.#server = null;
    if (!server) return;
    server.kill(signal);
    await once(server, 'exit');
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.halt('SIGINT');
    rmSync(this.#folder, { recursive: true, force: true });
  }

  #as() {
    return { ...(this.#user ?? {}), cwd: this.#folder };
  }
}
