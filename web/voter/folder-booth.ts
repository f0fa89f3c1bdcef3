import { hmac } from '@noble/hashes/hmac.js';
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, hexToBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import type {
  FolderVotes,
  VoteFile,
  VoterAnswer,
  VoterFolder,
  VoterSession,
} from '../../src/shootout/voter-shapes.ts';
import { type Booth, Kept } from './booth.ts';
import { ElementSounds } from './element-sounds.ts';
import type { Sounds } from './sounds.ts';

/** Asks from a folder on disk. Answers stay in this browser until they are saved as a file. */
export class FolderBooth implements Booth {
  readonly #folder: VoterFolder;
  readonly #kept = new Kept();
  readonly #name: string;
  #answers: FolderVotes['answers'];

  constructor(folder: VoterFolder) {
    this.#folder = folder;
    this.#name = `everyroom.folder.${folder.folder}`;
    this.#answers = JSON.parse(this.#kept.get(this.#name) ?? '[]') as FolderVotes['answers'];
  }

  open(): Promise<VoterSession> {
    return Promise.resolve(this.#session());
  }

  answer(answer: VoterAnswer): Promise<VoterSession> {
    this.#answers = [...this.#answers, { ...answer, at: new Date().toISOString() }];
    this.#kept.set(this.#name, JSON.stringify(this.#answers));
    return Promise.resolve(this.#session());
  }

  sounds(handles: readonly string[]): Promise<Sounds> {
    return ElementSounds.load(handles.map((handle) => this.#folder.files[handle]!));
  }

  wake(): void {
    // Players of the browser wake by being played.
  }

  readonly voteFile = (): Blob => {
    const votes: FolderVotes = { folder: this.#folder.folder, answers: this.#answers };
    const text = JSON.stringify(votes);
    const file: VoteFile = {
      format: 'everyroom-votes/1',
      votes: text,
      // The browser's own way of signing is not there for every page from disk.
      signature: bytesToHex(hmac(sha256, hexToBytes(this.#folder.key), utf8ToBytes(text))),
    };
    return new Blob([JSON.stringify(file)], { type: 'application/json' });
  };

  #session(): VoterSession {
    const { kind, question, rounds, seconds } = this.#folder;
    const answered = new Set(this.#answers.map(({ round }) => round));
    const left = rounds.filter(({ round }) => !answered.has(round));
    return {
      kind,
      question,
      state: 'open',
      rounds: rounds.length,
      answered: rounds.length - left.length,
      secondsLeft: (seconds * left.length) / rounds.length,
      next: left[0] ?? null,
    };
  }
}
