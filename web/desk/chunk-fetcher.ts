import { chunkFrames } from '../../src/compare/listening/sound.ts';
import { type ApiFailure, failureFrom, unreachable } from '../api/client.ts';

/** A sound to fetch from: a version on a base's timeline. */
export interface FetchedSource {
  readonly key: string;
  readonly versionId: string;
  readonly baseVersionId: string;
}

export interface Chunk {
  readonly key: string;
  readonly chunk: number;
  readonly samples: Float32Array;
  /** Length of the source's timeline, frames. */
  readonly timelineFrames: number;
}

/** Requests under way at once: a browser opens six to one server, and the page has others to make. */
const mostAtOnce = 4;
/** Wait after a failure, ms: shortest, and longest after many. */
const waitMilliseconds = { first: 250, most: 2000, ofSource: 3000 };

/** Fetches chunks of sound, a few at a time; what failed is tried again when it is wanted again, after a while. */
export class ChunkFetcher {
  readonly #rate: number;
  readonly #took: (chunk: Chunk) => void;
  readonly #changed: () => void;
  readonly #underWay = new Set<string>();
  readonly #failures = new Map<string, { readonly failure: ApiFailure; readonly again: number }>();
  readonly #stop = new AbortController();
  #lost: { readonly again: number; readonly times: number } | null = null;

  /**
   * @param rate the device's, Hz
   * @param took told of each chunk
   * @param changed told when a failure came or went
   */
  constructor(rate: number, took: (chunk: Chunk) => void, changed: () => void) {
    this.#rate = rate;
    this.#took = took;
    this.#changed = changed;
  }

  /** Whether the server did not answer the last time. */
  get lost(): boolean {
    return this.#lost !== null;
  }

  /** What the server last said of a source instead of giving its sound; null when all is well. */
  failureOf(key: string): ApiFailure | null {
    return this.#failures.get(key)?.failure ?? null;
  }

  /** Has a source tried again at once. */
  retry(key: string): void {
    const failed = this.#failures.get(key);
    if (failed) this.#failures.set(key, { ...failed, again: 0 });
  }

  /** Asks for what is missing, the most urgent first. */
  want(chunks: readonly { readonly source: FetchedSource; readonly chunk: number }[]): void {
    const now = performance.now();
    // One request finds out whether the server is back; the others would only fail beside it.
    const most = this.#lost ? 1 : mostAtOnce;
    if (this.#lost && now < this.#lost.again) return;
    for (const { source, chunk } of chunks) {
      if (this.#underWay.size >= most) return;
      const id = `${source.key} ${chunk}`;
      if (this.#underWay.has(id) || now < (this.#failures.get(source.key)?.again ?? 0)) continue;
      this.#underWay.add(id);
      void this.#fetch(source, chunk).finally(() => this.#underWay.delete(id));
    }
  }

  close(): void {
    this.#stop.abort();
  }

  async #fetch({ key, versionId, baseVersionId }: FetchedSource, chunk: number): Promise<void> {
    const query = new URLSearchParams({
      rate: String(this.#rate),
      base: baseVersionId,
      from: String(chunk * chunkFrames),
      frames: String(chunkFrames),
    });
    try {
      const response = await fetch(`/api/versions/${encodeURIComponent(versionId)}/sound?${query}`, {
        signal: this.#stop.signal,
      }).catch(() => {
        throw unreachable();
      });
      if (!response.ok) throw failureFrom(response.status, await response.json().catch(() => null));
      const bytes = await response.arrayBuffer().catch(() => {
        throw unreachable();
      });
      const timelineFrames = Number(response.headers.get('x-everyroom-frames'));
      if (this.#stop.signal.aborted) return;
      const wasWell = !this.#lost && !this.#failures.has(key);
      this.#lost = null;
      this.#failures.delete(key);
      this.#took({ key, chunk, samples: new Float32Array(bytes), timelineFrames });
      if (!wasWell) this.#changed();
    } catch (error) {
      if (this.#stop.signal.aborted) return;
      this.#failed(key, error as ApiFailure);
      this.#changed();
    }
  }

  #failed(key: string, failure: ApiFailure): void {
    const now = performance.now();
    if (failure.unreachable) {
      const times = (this.#lost?.times ?? 0) + 1;
      const wait = Math.min(waitMilliseconds.most, waitMilliseconds.first * 2 ** (times - 1));
      this.#lost = { again: now + wait, times };
    } else {
      this.#lost = null;
      this.#failures.set(key, { failure, again: now + waitMilliseconds.ofSource });
    }
  }
}
