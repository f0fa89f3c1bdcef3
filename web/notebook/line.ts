import type { WalkNotebook } from '../../src/places/walk-shapes.ts';
import { Refused } from '../voter/booth.ts';
import { refusal } from '../voter/served-booth.ts';
import type { NoteKeeper } from './note-keeper.ts';

/** How it stands between this notebook and the bench. */
export type LineState = 'sent' | 'sending' | 'waiting' | 'refused';

/** Milliseconds: taps that follow each other go together; before trying again; until a request is given up. */
const [together, firstWait, longestWait, patience] = [250, 1500, 15_000, 20_000];

/** Sends notes whenever the bench is in reach, and again until it has acknowledged them. */
export class Line {
  state: LineState = 'sent';
  /** What the bench had against it; for the reader. */
  refusal: string | null = null;
  readonly #keeper: NoteKeeper;
  readonly #addresses: readonly string[];
  readonly #changed: () => void;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #sending = false;
  #wait = firstWait;

  /** @param addresses of the notebook on the bench, tried one after the other; none: nothing is ever sent */
  constructor(keeper: NoteKeeper, addresses: readonly string[], changed: () => void) {
    this.#keeper = keeper;
    this.#addresses = addresses;
    this.#changed = changed;
    const now = () => this.#soon(0);
    window.addEventListener('online', now);
    document.addEventListener('visibilitychange', now);
    this.#soon(0);
  }

  get exists(): boolean {
    return this.#addresses.length > 0;
  }

  /** Something was noted. */
  noted(): void {
    this.#tell(this.state === 'refused' ? 'refused' : 'sending');
    this.#soon(together);
  }

  #soon(milliseconds: number): void {
    if (!this.exists || this.#sending || this.state === 'refused') return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#send(), milliseconds);
  }

  async #send(): Promise<void> {
    const parcel = this.#keeper.parcel();
    if (parcel === null) {
      this.#tell('sent');
      return;
    }
    this.#sending = true;
    let again: number | null = null;
    try {
      this.#keeper.arrived(parcel, await this.#post(JSON.stringify(parcel)));
      this.#wait = firstWait;
      again = 0;
    } catch (error) {
      if (error instanceof Refused) {
        this.refusal = error.message;
        this.#tell('refused');
      } else {
        again = this.#wait;
        this.#wait = Math.min(longestWait, 2 * this.#wait);
        this.#tell('waiting');
      }
    } finally {
      this.#sending = false;
    }
    if (again !== null) this.#soon(again);
  }

  /** From one address after the other until one answers. */
  async #post(body: string): Promise<WalkNotebook> {
    let trouble: unknown;
    for (const address of this.#addresses) {
      const given = new AbortController();
      const timer = setTimeout(() => given.abort(), patience);
      try {
        const response = await fetch(`${address}/notes`, {
          method: 'POST',
          // Plain text needs no asking beforehand, which a page from disk could not do.
          headers: { 'content-type': 'text/plain;charset=utf-8' },
          body,
          signal: given.signal,
          cache: 'no-store',
        });
        if (response.ok) return (await response.json()) as WalkNotebook;
        if (response.status !== 429 && response.status < 500) throw await refusal(response);
        trouble = new Error(`answered ${response.status}`);
      } catch (error) {
        if (error instanceof Refused) throw error;
        trouble = error;
      } finally {
        clearTimeout(timer);
      }
    }
    throw trouble;
  }

  #tell(state: LineState): void {
    this.state = state;
    this.#changed();
  }
}
