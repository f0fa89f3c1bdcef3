import { EventEmitter } from 'node:events';
import type { Job } from './shapes.ts';

/** What happens on the bench: 'job' at every change or progress of a job, 'songs' when a list of songs reads differently, 'survive' (a version's id) when more is known of how it survives, 'desk' (a song's id) when a version has been laid on its timeline. */
export type BenchEvents = EventEmitter<EventMap>;

interface EventMap {
  job: [Job];
  songs: [];
  survive: [string];
  desk: [string];
}

export function newEvents(): BenchEvents {
  // One listener an open page; there is no number of those that would be a leak.
  return new EventEmitter<EventMap>().setMaxListeners(0);
}
