import { ApiFailure } from '../api/client.ts';
import { type Destination, type Received, sendFile } from './send.ts';

/** One file on its way from the person's disk to the bench. */
export interface Upload {
  readonly id: number;
  readonly name: string;
  readonly bytes: number;
  readonly sentBytes: number;
  readonly state: 'waiting' | 'sending' | 'failed';
  /** The server's sentence when it would not take the file. */
  readonly message: string | null;
  /** What it was dropped on. */
  readonly to: Destination;
}

/** How many files are sent at the same time. */
const atOnce = 2;

/**
 * The files being sent, in the order they were dropped. One file's failure leaves the others alone; a failed
 * one stays, with its sentence, until it is dismissed. Lives outside React, so that changing screens stops nothing.
 */
export class UploadQueue {
  #uploads: readonly Upload[] = [];
  readonly #files = new Map<number, { file: File; stop: AbortController }>();
  readonly #listeners = new Set<() => void>();
  readonly #onReceived: (received: Received, to: Destination, alone: boolean) => void;
  #nextId = 1;

  constructor(onReceived: (received: Received, to: Destination, alone: boolean) => void) {
    this.#onReceived = onReceived;
  }

  /** Both as React's useSyncExternalStore wants them. */
  readonly subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };
  readonly snapshot = (): readonly Upload[] => this.#uploads;

  add(files: readonly File[], to: Destination = {}): void {
    const alone = files.length === 1 && this.#files.size === 0;
    for (const file of files) {
      const id = this.#nextId++;
      this.#files.set(id, { file, stop: new AbortController() });
      this.#set([
        ...this.#uploads,
        { id, name: file.name, bytes: file.size, sentBytes: 0, state: 'waiting', message: null, to },
      ]);
    }
    this.#pump(alone);
  }

  /** Lists something dropped that cannot be sent, with the reason. */
  refuse(name: string, message: string, to: Destination = {}): void {
    const id = this.#nextId++;
    this.#set([...this.#uploads, { id, name, bytes: 0, sentBytes: 0, state: 'failed', message, to }]);
  }

  /** Stops a file that is on its way, or clears one that failed. */
  dismiss(id: number): void {
    this.#files.get(id)?.stop.abort();
    this.#files.delete(id);
    this.#set(this.#uploads.filter((u) => u.id !== id));
    this.#pump(false);
  }

  #pump(alone: boolean): void {
    const sending = this.#uploads.filter((u) => u.state === 'sending').length;
    for (const upload of this.#uploads.filter((u) => u.state === 'waiting').slice(0, atOnce - sending))
      void this.#send(upload, alone);
  }

  async #send({ id, to }: Upload, alone: boolean): Promise<void> {
    const entry = this.#files.get(id);
    if (!entry) return;
    this.#patch(id, { state: 'sending' });
    try {
      const received = await sendFile(
        entry.file,
        to,
        (sentBytes) => this.#patch(id, { sentBytes }),
        entry.stop.signal,
      );
      this.#set(this.#uploads.filter((u) => u.id !== id));
      this.#onReceived(received, to, alone);
    } catch (error) {
      // A dismissed upload is no longer in the list; patching it changes nothing.
      const message = error instanceof ApiFailure ? error.message : String(error);
      this.#patch(id, { state: 'failed', message });
    }
    this.#files.delete(id);
    this.#pump(false);
  }

  #patch(id: number, change: Partial<Upload>): void {
    this.#set(this.#uploads.map((u) => (u.id === id ? { ...u, ...change } : u)));
  }

  #set(uploads: readonly Upload[]): void {
    this.#uploads = uploads;
    for (const listener of this.#listeners) listener();
  }
}
