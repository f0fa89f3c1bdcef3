import type { VoterAnswer, VoterSession } from '../../src/shootout/voter-shapes.ts';
import { type Booth, Kept, Refused } from './booth.ts';
import { BufferSounds } from './buffer-sounds.ts';
import type { Sounds } from './sounds.ts';

/** Seconds until a request without an answer is given up and made again. */
const patienceSeconds = 20;
/** Seconds until the first and before every further try. */
const [firstWait, longestWait] = [1, 10];

const lost =
  'The connection is lost. Your answers are safe: this page tries again by itself and goes on where you were.';
const busy = 'The other side is busy. This page tries again by itself.';

/** Asks the server under whose address this page lies. */
export class ServedBooth implements Booth {
  readonly voteFile = null;
  readonly #base: string;
  readonly #tell: (trouble: string | null) => void;
  readonly #kept = new Kept();
  #context: AudioContext | null = null;

  /**
   * @param base the page's own address, without a slash at its end
   * @param tell shows what stands between page and server; null when nothing does any more
   */
  constructor(base: string, tell: (trouble: string | null) => void) {
    this.#base = base;
    this.#tell = tell;
  }

  async open(): Promise<VoterSession> {
    const session = await this.#json('/session');
    const waiting = session.next && this.#kept.get(nameOf(session.next.round));
    if (!session.next || !waiting) return session;
    // Sent, and perhaps never arrived.
    const { answer, key } = JSON.parse(waiting) as { answer: VoterAnswer; key: string };
    return this.#send(answer, key);
  }

  answer(answer: VoterAnswer): Promise<VoterSession> {
    const key = newKey();
    this.#kept.set(nameOf(answer.round), JSON.stringify({ answer, key }));
    return this.#send(answer, key);
  }

  wake(): void {
    this.#context ??= new AudioContext();
    void this.#context.resume();
  }

  async sounds(handles: readonly string[]): Promise<Sounds> {
    this.#context ??= new AudioContext();
    const context = this.#context;
    const buffers = await Promise.all(
      handles.map(async (handle) => {
        const bytes = await this.#ask(`/sounds/${handle}`, {}, (response) => response.arrayBuffer());
        return context.decodeAudioData(bytes);
      }),
    );
    return new BufferSounds(context, buffers);
  }

  async #send(answer: VoterAnswer, key: string): Promise<VoterSession> {
    try {
      const session = await this.#json('/answers', {
        method: 'POST',
        headers: { 'content-type': 'application/json', 'idempotency-key': key },
        body: JSON.stringify(answer),
      });
      this.#kept.remove(nameOf(answer.round));
      return session;
    } catch (error) {
      // Refused for good: sending it again would only be refused again.
      if (error instanceof Refused) this.#kept.remove(nameOf(answer.round));
      throw error;
    }
  }

  #json(path: string, init: RequestInit = {}): Promise<VoterSession> {
    return this.#ask(path, init, (response) => response.json() as Promise<VoterSession>);
  }

  /** Asks until there is an answer. */
  async #ask<T>(path: string, init: RequestInit, read: (response: Response) => Promise<T>): Promise<T> {
    for (let wait = firstWait; ; wait = Math.min(longestWait, 2 * wait)) {
      const given = new AbortController();
      const timer = setTimeout(() => given.abort(), 1000 * patienceSeconds);
      let again = wait;
      try {
        const response = await fetch(this.#base + path, { ...init, signal: given.signal, cache: 'no-store' });
        if (response.ok) {
          const result = await read(response);
          this.#tell(null);
          return result;
        }
        if (response.status !== 429 && response.status < 500) throw await refusal(response);
        again = Number(response.headers.get('retry-after')) || wait;
        this.#tell(busy);
      } catch (error) {
        if (error instanceof Refused) {
          this.#tell(null);
          throw error;
        }
        this.#tell(lost);
      } finally {
        clearTimeout(timer);
      }
      await waiting(again);
    }
  }
}

const nameOf = (round: string) => `everyroom.answer.${round}`;

/** Chance that nobody repeats; there before a page is secure, too. */
export function newKey(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))]
    .map((byte) => byte.toString(16).padStart(2, '0'))
    .join('');
}

/** What the other side had against a request, as it says. */
export async function refusal(response: Response): Promise<Refused> {
  const { error } = (await response.json().catch(() => ({}))) as {
    error?: { code?: string; message?: string };
  };
  return new Refused(
    error?.code ?? 'UNKNOWN',
    error?.message ?? 'That did not work. Ask whoever sent you here.',
  );
}

/** Some seconds, or until the network is back. */
function waiting(seconds: number): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      clearTimeout(timer);
      window.removeEventListener('online', done);
      resolve();
    };
    const timer = setTimeout(done, 1000 * seconds);
    window.addEventListener('online', done);
  });
}
