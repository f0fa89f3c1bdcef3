import { alignTask } from './align.ts';
import { changeTask } from './change.ts';
import { codedPassageTask } from './coded-passage.ts';
import { codedPeakTask } from './coded-peak.ts';
import { fairCutsTask } from './fair-cuts.ts';
import { keepDecodedTask } from './keep-decoded.ts';
import { measureTask } from './measure.ts';
import { playbackTask } from './playback.ts';
import { quickPeaksTask } from './quick-peaks.ts';
import { readyTask } from './ready.ts';
import { roundTripTask } from './round-trip.ts';
import { powerTask, shootoutResultsTask } from './shootout-figures.ts';
import { surviveFormatTask } from './survive-format.ts';
import type { Task } from './task.ts';

// Each task has its own options and output; the worker, which only hands them through, need not know them.
const known: readonly Task<never, unknown>[] = [
  measureTask,
  roundTripTask,
  changeTask,
  quickPeaksTask,
  surviveFormatTask,
  codedPeakTask,
  codedPassageTask,
  keepDecodedTask,
  alignTask,
  playbackTask,
  readyTask,
  fairCutsTask,
  powerTask,
  shootoutResultsTask,
];

/** The tasks that a worker can run, by name. */
export const tasks: ReadonlyMap<string, Task<never, unknown>> = new Map(
  known.map((task) => [task.name, task]),
);
