import { readSound } from '../../audio/files/read-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import { changeBetween } from '../../compare/change.ts';
import type { VersionChange } from '../../compare/change-result.ts';
import type { Task } from './task.ts';

/** What changed from the first file to the second, two versions of one song. */
export const changeTask: Task<Record<string, never>, VersionChange> = {
  name: 'change',
  version: 2,
  timeLimitSeconds: 30 * 60,
  async run({ files: [before, after] }, run) {
    const a = await readSound(before.path, partOfRun(run, 0, 0.1));
    const b = await readSound(after.path, partOfRun(run, 0.1, 0.2));
    return changeBetween(a.pcm, b.pcm, partOfRun(run, 0.2, 1));
  },
};
