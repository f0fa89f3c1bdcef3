import { EventEmitter } from 'node:events';
import type { Job } from './shapes.ts';

/** What happens on the bench: 'job' at every change or progress of a job, 'songs' when a list of songs reads differently, 'survive' (a version's id) when more is known of how it survives. */
export type BenchEvents = EventEmitter<EventMap>;

interface EventMap {
  job: [Job];
  songs: [];
  survive: [string];
}

export function newEvents(): BenchEvents {
  // One listener an open page; there is no number of those that would be a leak.
  return new EventEmitter<EventMap>().setMaxListeners(0);
}
