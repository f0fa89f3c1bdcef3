import type { Kernels } from '../../signal/kernels.ts';
import type { Insert } from './insert.ts';
import { SlotStore } from './slot-store.ts';
import type { Feed } from './sound.ts';
import type { Source } from './source.ts';
import { Track, trackFrames } from './track.ts';
import { runUpSeconds } from './window.ts';

interface Entry<Settings> {
  readonly source: Source;
  readonly takenBy: string | null;
  readonly track: Track<Settings>;
  /** Its chain is another one by now. */
  stale: boolean;
  /** Asked for in this round. */
  wished: boolean;
}

/** Tracks kept for one source: where it is heard, at the loop's start, and what a part takes away. */
const mostOfSource = 4;

/** The tracks of all sources with a chain: made when first asked for, kept running where they are asked for, used again. */
export class Tracks<Settings> {
  readonly #kernels: Kernels;
  readonly #make: (settings: Settings, takenBy: string | null) => Insert<Settings>;
  readonly #runUp: number;
  readonly #roomFrames: number;
  readonly #rooms: SlotStore;
  readonly #settings = new Map<Source, { settings: Settings; text: string }>();
  #entries: Entry<Settings>[] = [];

  constructor(
    kernels: Kernels,
    make: (settings: Settings, takenBy: string | null) => Insert<Settings>,
    sampleRate: number,
  ) {
    this.#kernels = kernels;
    this.#make = make;
    this.#runUp = Math.round(runUpSeconds * sampleRate);
    this.#roomFrames = trackFrames(sampleRate);
    this.#rooms = new SlotStore(kernels, this.#roomFrames);
  }

  has(source: Source): boolean {
    return this.#settings.has(source);
  }

  /** What a source goes through from now on. */
  follow(source: Source, settings: Settings): void {
    const text = JSON.stringify(settings);
    if (this.#settings.get(source)?.text === text) return;
    this.#settings.set(source, { settings, text });
    for (const entry of this.#entries)
      if (entry.source === source && !entry.stale) entry.stale = !entry.track.insert.follow(settings);
  }

  /** A source is not wanted any more, or has no chain now. */
  forget(source: Source): void {
    this.#settings.delete(source);
    for (const entry of this.#entries) if (entry.source === source) entry.stale = true;
  }

  /** Frames by which a source's chain is late; 0 when it was not made yet. */
  latencyFrames(source: Source): number {
    const entry = this.#entries.find((each) => each.source === source && !each.stale && !each.takenBy);
    return entry?.track.insert.latencyFrames ?? 0;
  }

  /** Ends a round of wishes: lets go of what nobody asked for and nobody hears, where there is more than is worth keeping. */
  newRound(heard: (feed: Feed) => boolean): void {
    this.#entries = this.#entries.filter((entry) => {
      const idle = !entry.wished && !heard(entry.track);
      entry.wished = false;
      if (!idle) return true;
      const ofSource = this.#entries.filter(({ source }) => source === entry.source).length;
      if (!entry.stale && ofSource <= mostOfSource) return true;
      this.#rooms.giveBack(entry.track.room.pointer);
      return false;
    });
  }

  /** The track of a source that stands at its own frame `at`, or is on its way there. */
  at(source: Source, takenBy: string | null, at: number, heard: (feed: Feed) => boolean): Track<Settings> {
    const own = this.#entries.filter(
      (entry) => entry.source === source && entry.takenBy === takenBy && !entry.stale,
    );
    let entry = own.find(({ track }) => track.covers(at));
    if (!entry) {
      entry = own.find((each) => !each.wished && !heard(each.track)) ?? this.#new(source, takenBy);
      entry.track.begin(at);
    }
    entry.wished = true;
    return entry.track;
  }

  #new(source: Source, takenBy: string | null): Entry<Settings> {
    const { settings } = this.#settings.get(source)!;
    const insert = this.#make(settings, takenBy);
    const room = { pointer: this.#rooms.take(), frames: this.#roomFrames };
    const track = new Track(this.#kernels, source.sound, insert, room, this.#runUp);
    const entry = { source, takenBy, track, stale: false, wished: false };
    this.#entries.push(entry);
    return entry;
  }
}
