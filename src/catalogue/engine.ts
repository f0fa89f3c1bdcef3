import { measureTask } from '../bench/tasks/measure.ts';
import { roundTripTask } from '../bench/tasks/round-trip.ts';
import { version } from '../bench/version.ts';

/**
 * What measures here: the release and the versions of its measuring and coding. Songs are measured once an engine, and a run is
 * worked on only by workers of its engine, so that the figures of one run can be held against each other.
 */
export function ownEngine(): string {
  return `${version()}-m${measureTask.version}-r${roundTripTask.version}`;
}
