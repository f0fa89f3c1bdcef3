import { realpathSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { CodedError } from '../audio/coded-error.ts';
import { Bench } from '../bench/bench.ts';
import type { BenchOptions } from '../bench/bench-options.ts';
import { announceServer, withdrawServer } from '../bench/running-server.ts';
import { systemCode } from '../bench/storage-error.ts';
import { buildApp, portOf } from './app.ts';
import type { App } from './app-type.ts';
import { CatalogueDoor } from './catalogue-door.ts';
import type { SharingOptions } from './sharing.ts';

export interface ServerOptions {
  /** The port wished for; 0 for any free one. 4870 by default. */
  readonly port?: number;
  /** The address to listen on; this machine only by default. */
  readonly host?: string;
  /** The data folder; the usual one by default. */
  readonly home?: string;
  /** Where catalogues are, as postgres://…; DATABASE_URL by default, without it the data folder. */
  readonly databaseUrl?: string;
  /** Worker threads; the cores by default. */
  readonly poolSize?: number;
  /** Whether to get ready at once for what a listener does not want to wait for; not by default. */
  readonly getReady?: boolean;
  /** Largest file taken in; EVERYROOM_MAX_BYTES or 4 GiB by default. */
  readonly maxBytes?: number;
  /** Of the bench: see BenchOptions. */
  readonly bench?: Pick<
    BenchOptions,
    'userHome' | 'watchTiming' | 'now' | 'idle' | 'voterPagePath' | 'notebookPagePath'
  >;
  /** Of sharing a shoot-out: see SharingOptions. */
  readonly sharing?: SharingOptions;
}

export interface RunningServer {
  /** Where a browser finds the page. */
  readonly url: string;
  readonly port: number;
  /** True when the port wished for was in use and another was taken. */
  readonly portWasTaken: boolean;
  /** Stops taking requests, then the work; resolves when everything is closed. Can be called more than once. */
  close(): Promise<void>;
}

const usualPort = 4870;
/** How many ports after the one wished for are tried. */
const portsTried = 100;
const usualMaxBytes = 4 * 2 ** 30;

/**
 * Opens the data folder and serves it. SIGINT and SIGTERM close it in good order (a second one ends the process at
 * once; nothing that was acknowledged is lost either way). CodedError as Bench.open, and USAGE for a bad setting.
 */
export async function startServer(options: ServerOptions = {}): Promise<RunningServer> {
  const { port: wished = usualPort, host = '127.0.0.1' } = options;
  const maxBytes = options.maxBytes ?? maxBytesFrom(process.env.EVERYROOM_MAX_BYTES);
  const bench = await Bench.open({
    ...options.bench,
    maxBytes,
    homePath: options.home,
    poolSize: options.poolSize,
  });
  let closing = false;
  try {
    const app = await buildApp(bench, {
      hosts: [...new Set(['localhost', '127.0.0.1', '[::1]', host.includes(':') ? `[${host}]` : host])],
      pagePath: pagePath(),
      maxBytes,
      catalogue: new CatalogueDoor({
        databaseUrl: options.databaseUrl ?? (process.env.DATABASE_URL || undefined),
        homePath: bench.home.path,
      }),
      report: (error) => {
        // What closing cuts short is no fault.
        if (!closing) console.error(error);
      },
      sharing: options.sharing,
    });
    const port = await listen(app, wished, host);
    if (options.getReady) void bench.playback.prepare(null);
    const close = closeOnce(bench, () => {
      closing = true;
      return app.close();
    });
    const url = `http://${urlHost(host)}:${port}`;
    await announceServer(bench.home, url);
    return {
      url,
      port,
      portWasTaken: wished !== 0 && port !== wished,
      close,
    };
  } catch (error) {
    await bench.close();
    throw error;
  }
}

function closeOnce(bench: Bench, closeApp: () => Promise<void>): () => Promise<void> {
  let closing: Promise<void> | undefined;
  const close = (): Promise<void> => {
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
    closing ??= withdrawServer(bench.home)
      .then(closeApp)
      .then(() => bench.close());
    return closing;
  };
  const onSignal = (): void => {
    close().catch(console.error);
  };
  process.on('SIGINT', onSignal);
  process.on('SIGTERM', onSignal);
  return close;
}

async function listen(app: App, wished: number, host: string): Promise<number> {
  for (let port = wished; ; port++) {
    try {
      await app.listen({ port, host });
      return portOf(app);
    } catch (error) {
      if (systemCode(error) !== 'EADDRINUSE' || port >= Math.min(65535, wished + portsTried)) throw error;
    }
  }
}

function maxBytesFrom(text: string | undefined): number {
  if (text === undefined || text === '') return usualMaxBytes;
  const bytes = Number(text);
  if (!Number.isSafeInteger(bytes) || bytes < 1)
    throw new CodedError('USAGE', 'EVERYROOM_MAX_BYTES wants a whole number of bytes, 1 or more.');
  return bytes;
}

/** `0.0.0.0` and `::` are places to listen, not to go to. */
function urlHost(host: string): string {
  if (host === '0.0.0.0' || host === '::') return 'localhost';
  return host.includes(':') ? `[${host}]` : host;
}

function pagePath(): string {
  const fromBuild = import.meta.url.endsWith('.ts') ? '../../dist/page' : '../../page';
  return fileURLToPath(new URL(fromBuild, import.meta.url));
}

async function main(): Promise<void> {
  try {
    const { values } = parseArgs({ options: { port: { type: 'string' } } });
    const port = Number(values.port ?? usualPort);
    if (!Number.isInteger(port) || port < 0 || port > 65535)
      throw new CodedError('USAGE', '--port wants a number from 0 to 65535.');
    const server = await startServer({ port, getReady: true });
    if (server.portWasTaken) console.error(`Port ${port} is in use; the next free one was taken.`);
    console.log(server.url);
  } catch (error) {
    console.error(error instanceof CodedError ? `${error.message} (${error.code})` : error);
    process.exitCode = 2;
  }
}

const started = process.argv[1];
if (started !== undefined && import.meta.url === pathToFileURL(realpathSync(started)).href) void main();
