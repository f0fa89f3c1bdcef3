import { readSound } from '../../audio/files/read-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import { alignVersions, type VersionAlign } from '../../compare/lay-versions.ts';
import type { Task } from './task.ts';

/** How the second file lies on the timeline of the first. */
export const alignTask: Task<Record<string, never>, VersionAlign> = {
  name: 'align',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [base, other] }, run) {
    const a = await readSound(base.path, partOfRun(run, 0, 0.2));
    const b = await readSound(other.path, partOfRun(run, 0.2, 0.4));
    return alignVersions(a.pcm, b.pcm, partOfRun(run, 0.4, 1));
  },
};
