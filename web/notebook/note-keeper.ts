import type {
  WalkFile,
  WalkNote,
  WalkNotebook,
  WalkStopNow,
  WalkSync,
  WalkTapsNow,
} from '../../src/places/walk-shapes.ts';
import { Kept } from '../voter/booth.ts';
import { newKey } from '../voter/served-booth.ts';

/** At most so many notes go in one request. */
const mostAtOnce = 200;

/** A note before its key and time are put to it. */
export type Said = WalkNote extends infer Note
  ? Note extends WalkNote
    ? Omit<Note, 'key' | 'at'>
    : never
  : never;

interface KeptNotes {
  /** All that was noted here, the oldest first; those before `sent` are on the bench. */
  readonly notes: readonly WalkNote[];
  readonly sent: number;
  readonly stops: readonly { readonly id: string; readonly name: string }[];
}

/** What this browser knows of a walk: what the bench said last, and what was noted here since. Outlasts the page where it can. */
export class NoteKeeper {
  readonly #kept = new Kept();
  readonly #name: string;
  readonly #device: string;
  #seen: WalkNotebook;
  #own: KeptNotes;
  /** Clock of the bench less that of this device, ms. */
  #ahead = 0;
  /** Whether what is noted outlasts the page. */
  outlasts = true;

  constructor(notebook: WalkNotebook, fresh: boolean) {
    this.#name = `everyroom.walk.${notebook.notebook}`;
    this.#device = this.#kept.get('everyroom.device') ?? newKey();
    this.outlasts = this.#kept.set('everyroom.device', this.#device);
    this.#own = read<KeptNotes>(this.#kept.get(this.#name)) ?? { notes: [], sent: 0, stops: [] };
    const before = read<WalkNotebook>(this.#kept.get(`${this.#name}.seen`));
    // A page that is carried along is as old as it is; the bench may have said more since.
    this.#seen = before && before.now > notebook.now ? before : notebook;
    if (fresh) this.heard(notebook);
  }

  get title(): string {
    return this.#seen.title;
  }

  get waiting(): number {
    return this.#own.notes.length - this.#own.sent + this.#newStops().length;
  }

  get total(): number {
    return this.#own.notes.length;
  }

  /** The places, with what counts as far as is known here. */
  get stops(): WalkStopNow[] {
    const references = this.#seen.sounds.length - 1;
    const empty = (): WalkTapsNow => ({ scales: {}, words: null });
    const added: WalkStopNow[] = this.#newStops().map(({ id, name }) => ({
      id,
      name,
      trust: 0.8,
      song: empty(),
      references: Array.from({ length: references }, empty),
    }));
    const stops = structuredClone([...this.#seen.stops, ...added]);
    for (const note of this.#own.notes.slice(this.#own.sent)) {
      const stop = stops.find(({ id }) => id === note.stop);
      if (!stop) continue;
      if (note.what === 'trust') stop.trust = note.value;
      else {
        const taps = note.subject === 'song' ? stop.song : stop.references[note.subject];
        if (!taps) continue;
        if (note.what === 'words') taps.words = note.value === '' ? null : note.value;
        else if (note.value === null) delete taps.scales[note.what];
        else taps.scales[note.what] = note.value;
      }
    }
    return stops;
  }

  note(said: Said): void {
    const at = new Date(Date.now() + this.#ahead).toISOString();
    this.#keep({ ...this.#own, notes: [...this.#own.notes, { ...said, key: newKey(), at } as WalkNote] });
  }

  /** A place that was not planned. */
  addStop(name: string): string {
    const id = newKey().slice(0, 16);
    this.#keep({ ...this.#own, stops: [...this.#own.stops, { id, name }] });
    return id;
  }

  /** What is to be sent next; null when all is there. */
  parcel(): WalkSync | null {
    if (this.waiting === 0) return null;
    const notes = this.#own.notes.slice(this.#own.sent, this.#own.sent + mostAtOnce);
    return { device: this.#device, stops: [...this.#own.stops], notes: [...notes] };
  }

  /** The bench has acknowledged a parcel and said how the walk stands. */
  arrived({ notes }: WalkSync, notebook: WalkNotebook): void {
    this.heard(notebook);
    this.#keep({ ...this.#own, sent: this.#own.sent + notes.length });
  }

  heard(notebook: WalkNotebook): void {
    this.#seen = notebook;
    this.#ahead = Date.parse(notebook.now) - Date.now();
    this.#kept.set(`${this.#name}.seen`, JSON.stringify(notebook));
  }

  /** Everything that was noted here, as a file for the bench. */
  file(): Blob {
    const file: WalkFile = {
      format: 'everyroom-walk-notes/1',
      notebook: this.#seen.notebook,
      device: this.#device,
      stops: [...this.#own.stops],
      notes: [...this.#own.notes],
    };
    return new Blob([JSON.stringify(file)], { type: 'application/json' });
  }

  /** Places that the bench has not heard of. */
  #newStops() {
    const known = new Set(this.#seen.stops.map(({ id }) => id));
    return this.#own.stops.filter(({ id }) => !known.has(id));
  }

  #keep(own: KeptNotes): void {
    this.#own = own;
    this.outlasts = this.#kept.set(this.#name, JSON.stringify(own));
  }
}

function read<T>(text: string | null): T | null {
  try {
    return text === null ? null : (JSON.parse(text) as T);
  } catch {
    return null;
  }
}
