import type { VoterAnswer, VoterSession } from '../../src/shootout/voter-shapes.ts';
import type { Sounds } from './sounds.ts';

/** Where questions come from and answers go to: a server, or a folder on disk. */
export interface Booth {
  /** Where the voter stands. What was answered but not acknowledged before is sent first. */
  open(): Promise<VoterSession>;
  /** Resolves when the answer is kept for good; the next round comes with it. */
  answer(answer: VoterAnswer): Promise<VoterSession>;
  /** The sounds of a round, ready to play in step, in the order of `handles`. */
  sounds(handles: readonly string[]): Promise<Sounds>;
  /** To be called from a click or a key: only then a browser lets anything sound. */
  wake(): void;
  /** The answers so far as a file to send back; null where they have gone to a server. */
  readonly voteFile: (() => Blob) | null;
}

/** An answer of the server that no trying again will change; the message is meant for the voter. */
export class Refused extends Error {
  override readonly name = 'Refused';
  readonly code: string;

  constructor(code: string, message: string) {
    super(message);
    this.code = code;
  }
}

/** What a browser keeps for this page; where it keeps nothing, the page does as long as it is open. */
export class Kept {
  readonly #memory = new Map<string, string>();

  get(name: string): string | null {
    try {
      return localStorage.getItem(name) ?? this.#memory.get(name) ?? null;
    } catch {
      return this.#memory.get(name) ?? null;
    }
  }

  /** False when it will not outlast the page. */
  set(name: string, text: string): boolean {
    this.#memory.set(name, text);
    try {
      localStorage.setItem(name, text);
      return true;
    } catch {
      return false;
    }
  }

  remove(name: string): void {
    this.#memory.delete(name);
    try {
      localStorage.removeItem(name);
    } catch {
      // It was never there.
    }
  }
}
