import type { Task } from './task.ts';

/** Does nothing: has a thread started, and what tasks need loaded, before it is wanted in a hurry. */
export const readyTask: Task<Record<string, never>, null> = {
  name: 'ready',
  version: 1,
  timeLimitSeconds: 60,
  async run() {
    return null;
  },
};
