import { setTimeout as pause } from 'node:timers/promises';
import { CodedError, type ErrorCode } from '../../audio/coded-error.ts';
import type { Pool } from '../../bench/pool.ts';
import type { Catalogue } from '../catalogue.ts';
import { ownEngine } from '../engine.ts';
import type { FetchOptions } from '../sources/fetch-song.ts';
import type { Run } from '../store/runs.ts';
import type { TakenSong } from '../store/song-queue.ts';
import { checkSong } from './check-song.ts';

export interface WorkerOptions {
  readonly pool: Pool;
  /** False: it takes no songs, only gives signs of life and looks for the dead. */
  readonly takes?: boolean;
  readonly scratch: string;
  readonly fetching: Omit<FetchOptions, 'signal'>;
  /** How often a sign of life is given and the dead are looked for, ms. */
  readonly beatMs: number;
  /** How long to wait before asking again when nothing waits, ms. */
  readonly idleMs: number;
}

/** What the sound itself is, and what this machine lets in: another try gives the same. */
const final: ReadonlySet<ErrorCode> = new Set<ErrorCode>([
  'FILE_NOT_FOUND',
  'FILE_IS_DIRECTORY',
  'FILE_NO_PERMISSION',
  'FILE_EMPTY',
  'FILE_TOO_LARGE',
  'SOUND_NOT_RECOGNISED',
  'SOUND_CODEC_UNKNOWN',
  'SOUND_TRUNCATED',
  'SOUND_DAMAGED',
  'SOUND_NO_SAMPLES',
  'SOUND_RATE_UNSUPPORTED',
  'SOUND_TOO_MANY_CHANNELS',
  'SOUND_NOT_NUMBERS',
  'SOUND_TOO_LONG',
  'URL_REFUSED',
]);

/** More in hand than there are threads: one is fetched, hashed or written down while the others are measured. */
const spare = 2;

/**
 * Takes songs from a catalogue and checks them, as many at once as the pool has threads and a few more, whatever the length of the
 * list. Gives a sign of life while it works; songs of workers that give none are put back.
 */
export class Worker {
  readonly id: string;
  readonly #catalogue: Catalogue;
  readonly #options: WorkerOptions;
  readonly #engine = ownEngine();
  readonly #inHand = new Map<TakenSong, Promise<void>>();
  readonly #runs = new Map<string, Promise<Run>>();
  /** Contents that are being measured here, so that copies of one file are measured once. */
  readonly #measuring = new Map<string, Promise<void>>();
  readonly #stop = new AbortController();
  #draining = false;
  #wake: () => void = () => {};
  #lastBeat = Number.NEGATIVE_INFINITY;
  #fault: unknown = null;

  constructor(catalogue: Catalogue, options: WorkerOptions) {
    this.#catalogue = catalogue;
    this.#options = options;
    this.id = catalogue.work.newWorkerId();
  }

  /** Takes no more songs; `run` resolves when those in hand are done. */
  drain(): void {
    this.#draining = true;
    this.#wake();
  }

  /**
   * Works until `drain`, or until nothing is in hand and `isOver` says so. Rejects with CodedError when the database stays away for
   * longer than the catalogue is patient, after stopping what was in hand.
   */
  async run(isOver: () => Promise<boolean> = async () => false): Promise<void> {
    try {
      while (true) {
        await this.#beat();
        if (this.#fault) throw this.#fault;
        if (this.#draining) {
          if (this.#inHand.size === 0) break;
        } else if ((await this.#takeMore()) === 0 && this.#inHand.size === 0 && (await isOver())) break;
        await this.#somethingHappens();
      }
      await this.#catalogue.patiently(() => this.#catalogue.work.leave(this.id));
    } catch (error) {
      this.#stop.abort();
      await Promise.allSettled(this.#inHand.values());
      throw error;
    }
  }

  get #capacity(): number {
    return this.#options.takes === false ? 0 : this.#options.pool.size + spare;
  }

  async #beat(): Promise<void> {
    if (performance.now() - this.#lastBeat < this.#options.beatMs) return;
    const { work } = this.#catalogue;
    await this.#catalogue.patiently(async () => {
      await work.beat(this.id, this.#engine);
      await work.letGo(this.id, [...this.#inHand.keys()]);
      await work.reclaim();
    });
    this.#lastBeat = performance.now();
  }

  async #takeMore(): Promise<number> {
    const room = this.#capacity - this.#inHand.size;
    if (room <= 0) return 0;
    const songs = await this.#catalogue.patiently(() =>
      this.#catalogue.work.take(this.id, this.#engine, room),
    );
    for (const song of songs) {
      const work = this.#check(song)
        .catch((error: unknown) => {
          this.#fault ??= error;
        })
        .finally(() => {
          this.#inHand.delete(song);
          this.#wake();
        });
      this.#inHand.set(song, work);
    }
    return songs.length;
  }

  /** Until a song has ended, a while has passed, or there is to be an end. */
  async #somethingHappens(): Promise<void> {
    const { beatMs, idleMs } = this.#options;
    const full = this.#draining || (this.#inHand.size > 0 && this.#inHand.size >= this.#capacity);
    const timer = new AbortController();
    const woken = new Promise<void>((resolve) => {
      this.#wake = resolve;
    });
    const waited = pause(full ? beatMs : idleMs, undefined, { signal: timer.signal }).catch(() => {});
    await Promise.race([woken, waited]);
    timer.abort();
  }

  async #check(song: TakenSong): Promise<void> {
    const began = performance.now();
    const { work } = this.#catalogue;
    const run = await this.#runOf(song.runId);
    const turn = new Turn(this.#measuring);
    try {
      const settled = await this.#result(song, run, turn).then(
        (result) => () => work.finish(this.id, run, song, result),
        (error: unknown) => {
          if (this.#stop.signal.aborted) throw error;
          const tookMs = performance.now() - began;
          return () => work.fail(this.id, this.#engine, song, { ...faultOf(error), tookMs });
        },
      );
      await this.#catalogue.patiently(settled);
    } finally {
      turn.end();
    }
  }

  #result(song: TakenSong, run: Run, turn: Turn) {
    const { pool, scratch, fetching } = this.#options;
    const { signal } = this.#stop;
    return checkSong(song, run, {
      pool,
      scratch,
      fetching,
      signal,
      facts: async (sha256) => {
        await turn.of(`${sha256} ${run.lossy}`);
        return this.#catalogue.patiently(() => this.#catalogue.work.facts(sha256, this.#engine, run.lossy));
      },
    });
  }

  #runOf(id: string): Promise<Run> {
    let run = this.#runs.get(id);
    if (!run) {
      run = this.#catalogue.patiently(() => this.#catalogue.runs.get(id));
      this.#runs.set(id, run);
    }
    return run;
  }
}

/** Copies of one content, one after the other: the second finds written down what the first measured. */
class Turn {
  readonly #taken: Map<string, Promise<void>>;
  #end: () => void = () => {};

  constructor(taken: Map<string, Promise<void>>) {
    this.#taken = taken;
  }

  async of(key: string): Promise<void> {
    for (let other = this.#taken.get(key); other; other = this.#taken.get(key)) await other;
    const turn = new Promise<void>((resolve) => {
      this.#end = () => {
        this.#taken.delete(key);
        resolve();
      };
    });
    this.#taken.set(key, turn);
  }

  end(): void {
    this.#end();
  }
}

function faultOf(error: unknown): { code: string; message: string; final: boolean } {
  if (error instanceof CodedError)
    return { code: error.code, message: error.message, final: final.has(error.code) };
  const message = error instanceof Error ? error.message : String(error);
  return { code: 'INTERNAL', message: `Everyroom itself failed: ${message}`, final: false };
}
