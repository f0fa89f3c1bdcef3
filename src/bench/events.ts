import { EventEmitter } from 'node:events';
import type { Job } from './shapes.ts';

/** What happens on the bench: 'job' at every change or progress of a job, 'songs' when a list of songs reads differently. */
export type BenchEvents = EventEmitter<{ job: [Job]; songs: [] }>;

export function newEvents(): BenchEvents {
  // One listener an open page; there is no number of those that would be a leak.
  return new EventEmitter<{ job: [Job]; songs: [] }>().setMaxListeners(0);
}
