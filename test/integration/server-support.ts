import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import type { ApiError, Job, Song, Version, VersionDetail } from '../../src/server/api.ts';

/** An empty folder that goes away with the test. */
export async function scratchFolder(): Promise<{ path: string } & AsyncDisposable> {
  const path = await mkdtemp(join(tmpdir(), 'everyroom-test-'));
  return { path, [Symbol.asyncDispose]: () => rm(path, { recursive: true, force: true }) };
}

const built = fileURLToPath(new URL('../../dist/src/server/start.js', import.meta.url));

/** The built server as a process of its own, which can be killed. */
export async function spawnedServer(home: string): Promise<{ child: ChildProcess; client: Client }> {
  const child = spawn(process.execPath, [built, '--port', '0'], {
    env: { ...process.env, EVERYROOM_HOME: home },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const [url] = (await once(createInterface(child.stdout), 'line')) as [string];
  return { child, client: new Client(url) };
}

/** A few seconds of two chords with a beat, hot enough that rules have something to say. Deterministic. */
export function music(seconds: number, { sampleRate = 44_100, channels = 2, gain = 1.4 } = {}): Pcm {
  const frames = Math.round(seconds * sampleRate);
  const one = (channel: number): Float32Array =>
    Float32Array.from({ length: frames }, (_, i) => {
      const t = i / sampleRate;
      const chord = Math.floor(t) % 2 === 0 ? [110, 220, 277.2, 329.6, 4400] : [98, 196, 246.9, 293.7, 5200];
      const beat = Math.exp(-8 * (t % 0.5));
      const tones = chord.reduce(
        (sum, hz, k) => sum + Math.sin(2 * Math.PI * hz * t + k * channel) / (k + 2),
        0,
      );
      return Math.max(-0.99, Math.min(0.99, gain * tones * (0.3 + 0.7 * beat)));
    });
  return { sampleRate, channels: Array.from({ length: channels }, (_, channel) => one(channel)) };
}

/** Writes it as a 16-bit WAV file and returns the path. */
export async function writeMusic(path: string, pcm: Pcm = music(2)): Promise<string> {
  await writeWav(path, pcm, { sampleFormat: 's16' });
  return path;
}

export interface Answer<T> {
  readonly status: number;
  readonly headers: Headers;
  readonly body: T;
}

export interface Received {
  readonly song: Song;
  readonly version: Version;
  readonly job: Job | null;
}

/** A client of one server. */
export class Client {
  readonly url: string;

  constructor(url: string) {
    this.url = url;
  }

  async call<T>(method: string, path: string, body?: unknown): Promise<Answer<T>> {
    const response = await fetch(`${this.url}${path}`, {
      method,
      headers: body === undefined ? {} : { 'content-type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    const text = await response.text();
    const json = response.headers.get('content-type')?.includes('json');
    return {
      status: response.status,
      headers: response.headers,
      body: (json ? JSON.parse(text) : text) as T,
    };
  }

  async get<T>(path: string): Promise<T> {
    const { status, body } = await this.call<T | ApiError>('GET', path);
    if (status !== 200) throw new Error(`${path}: ${status} ${JSON.stringify(body)}`);
    return body as T;
  }

  async upload(bytes: Uint8Array, name: string, songId?: string): Promise<Answer<Received>> {
    const query = new URLSearchParams({ name, ...(songId ? { songId } : {}) });
    const response = await fetch(`${this.url}/api/versions?${query}`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body: bytes as Uint8Array<ArrayBuffer>,
    });
    return { status: response.status, headers: response.headers, body: (await response.json()) as Received };
  }

  version(id: string): Promise<VersionDetail> {
    return this.get(`/api/versions/${id}`);
  }

  /** The job once `wanted` holds of it, told by the event stream. */
  async jobWhen(id: string, wanted: (job: Job) => boolean): Promise<Job> {
    const stop = new AbortController();
    const events = await fetch(`${this.url}/api/events`, { signal: stop.signal });
    try {
      // Asked after listening began: what happened before is in the answer, what happens later in the events.
      const now = await this.get<Job>(`/api/jobs/${id}`);
      if (wanted(now)) return now;
      for await (const { event, data } of readEvents(events)) {
        const job = event === 'job' ? (JSON.parse(data) as Job) : undefined;
        if (job?.id === id && wanted(job)) return job;
      }
      throw new Error('the event stream ended');
    } finally {
      stop.abort();
    }
  }

  jobEnded(id: string): Promise<Job> {
    return this.jobWhen(id, ({ state }) => state !== 'queued' && state !== 'running');
  }
}

export async function* readEvents(response: Response): AsyncGenerator<{ event: string; data: string }> {
  let text = '';
  for await (const chunk of response.body!.pipeThrough(new TextDecoderStream())) {
    text += chunk;
    for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
      const fields = new Map(
        text
          .slice(0, end)
          .split('\n')
          .map((line) => line.split(/: (.*)/s, 2) as [string, string]),
      );
      text = text.slice(end + 2);
      if (fields.has('event')) yield { event: fields.get('event')!, data: fields.get('data') ?? '' };
    }
  }
}

/** A request with headers that fetch would not let a client set. */
export function rawRequest(
  url: string,
  path: string,
  { method = 'GET', headers = {} }: { method?: string; headers?: Record<string, string> },
): Promise<{ status: number; text: string }> {
  const { hostname, port } = new URL(url);
  return new Promise((resolve, reject) => {
    const sent = request({ hostname, port, path, method, headers }, (response) => {
      let text = '';
      response.setEncoding('utf8').on('data', (part: string) => {
        text += part;
      });
      response.on('end', () => resolve({ status: response.statusCode ?? 0, text }));
    });
    sent.on('error', reject).end();
  });
}
