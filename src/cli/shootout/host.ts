import { createReadStream, createWriteStream } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type { ReadableStream as WebStream } from 'node:stream/web';
import { z } from 'zod';
import { CodedError, type ErrorCode, errorCodes } from '../../audio/coded-error.ts';
import { openHome } from '../../bench/home.ts';
import { findServer } from '../../bench/running-server.ts';
import { writeWholeFolder } from '../../bench/whole-folder.ts';
import type { ShootoutDetail, ShootoutSummary, Written } from '../../server/shootout-api.ts';

const refusal = z.object({ error: z.object({ code: z.string(), message: z.string() }) });

/** The bench as the command line speaks to it: the running server's, or one started for this command alone. */
export class Host {
  readonly url: string;
  /** True when the server lives as long as this command. */
  readonly own: boolean;

  constructor(url: string, own: boolean) {
    this.url = url;
    this.own = own;
  }

  /** Rejects with CodedError: what the server answers. */
  async call<T>(method: string, path: string, body?: unknown): Promise<T> {
    const response = await fetch(`${this.url}${path}`, {
      method,
      headers: body === undefined ? {} : { 'content-type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    return answerOf(response);
  }

  /** Sends a file as it lies on the disk. */
  async send<T>(path: string, query: Record<string, string>, filePath: string): Promise<T> {
    const request: RequestInit & { duplex: 'half' } = {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body: Readable.toWeb(createReadStream(filePath)) as ReadableStream,
      duplex: 'half',
    };
    return answerOf(await fetch(`${this.url}${path}?${new URLSearchParams(query)}`, request));
  }

  /** Fetches what was written and puts it into a new folder, whole or not at all. */
  async fetchInto(folder: string, { key, files }: Pick<Written, 'key' | 'files'>): Promise<void> {
    await writeWholeFolder(folder, async (place) => {
      for (const { name } of files) {
        const address = `${this.url}/api/shootouts/written/${key}/${name.split('/').map(encodeURIComponent).join('/')}`;
        const response = await fetch(address);
        if (!response.ok || !response.body) throw await refused(response);
        const path = join(place, ...name.split('/'));
        await mkdir(dirname(path), { recursive: true });
        await pipeline(
          Readable.fromWeb(response.body as WebStream),
          createWriteStream(path, { flags: 'wx' }),
        );
      }
    });
  }

  /** By its id, the beginning of that, or its title; of several with one title the newest. CodedError NOT_FOUND. */
  async find(wanted: string): Promise<ShootoutDetail> {
    const { shootouts } = await this.call<{ shootouts: ShootoutSummary[] }>('GET', '/api/shootouts');
    const title = wanted.trim().toLowerCase();
    const found =
      shootouts.find(({ id }) => id === wanted) ??
      shootouts.find((each) => each.title.toLowerCase() === title) ??
      (wanted.length >= 4 ? shootouts.find(({ id }) => id.startsWith(wanted)) : undefined);
    if (!found) {
      const others = shootouts.map((each) => `“${each.title}” (${each.id})`).join(', ');
      throw new CodedError(
        'NOT_FOUND',
        `There is no shoot-out “${wanted}”. ${others === '' ? 'There are none yet.' : `There are: ${others}.`}`,
      );
    }
    return this.call('GET', `/api/shootouts/${found.id}`);
  }
}

/** Works with the running server, or with one of its own that ends with the work. */
export async function withHost<T>(work: (host: Host) => Promise<T>): Promise<T> {
  const running = await findServer(await openHome());
  if (running !== null) return work(new Host(running, false));
  // Idle: what else waits on the bench is not begun by a command about shoot-outs.
  const { startServer } = await import('../../server/start.ts');
  const server = await startServer({ port: 0, bench: { idle: true } });
  try {
    return await work(new Host(server.url, true));
  } finally {
    await server.close();
  }
}

async function answerOf<T>(response: Response): Promise<T> {
  if (!response.ok) throw await refused(response);
  return (response.status === 204 ? null : await response.json()) as T;
}

async function refused(response: Response): Promise<CodedError> {
  const { code, message } = refusal.parse(await response.json()).error;
  return new CodedError(code in errorCodes ? (code as ErrorCode) : 'INTERNAL', message);
}
