import { EventEmitter } from 'node:events';
import type { Job } from './shapes.ts';

/** What happens on the bench: 'job' at every change or progress of a job, 'songs' when a list of songs reads differently, 'survive' (a version's id) when more is known of how it survives, 'desk' when sets, notes or the watched folders read differently or a version has been laid on its song's timeline, 'finish' (the id of the version that is finished) when what came of it reads differently, 'shootout' when an entry, listener, vote or state of a shoot-out changed, 'places' when the library of places, a version in them or a measuring reads differently, 'walk' when a walk, its notes or its sharing did, 'chain' when a finishing chain did, 'record' when a record, a delivery of it or what was said of versions did. */
export type BenchEvents = EventEmitter<EventMap>;

interface EventMap {
  job: [Job];
  songs: [];
  survive: [string];
  finish: [string];
  desk: [DeskNews];
  /** A shoot-out, by its id, that reads differently; with null, which one is shared. */
  shootout: [string | null];
  places: [PlacesNews];
  chain: [{ readonly chainId: string; readonly songId: string }];
  /** A walk, by its id, that reads differently. */
  walk: [string];
  /** A record, by its id, that reads differently; with null, what was said of a version, or who may come in. */
  record: [string | null];
}

/** What of the desk reads differently; for notes, on which version. */
export type DeskNews =
  | { readonly what: 'sets' | 'watch' }
  | { readonly what: 'timeline'; readonly songId: string }
  | { readonly what: 'notes'; readonly versionId: string };

/** What about places reads differently: a version in them, a measuring, or, with neither, the library. */
export interface PlacesNews {
  readonly versionId?: string;
  readonly measuringId?: string;
}

export function newEvents(): BenchEvents {
  // One listener an open page; there is no number of those that would be a leak.
  return new EventEmitter<EventMap>().setMaxListeners(0);
}
