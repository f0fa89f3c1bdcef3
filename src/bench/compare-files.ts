import { partOfRun, type Run } from '../audio/run.ts';
import { type ChangeReport, changeReportOf } from '../judge/change-report.ts';
import { hashedFile } from './hashed-file.ts';
import { runTask, type Workshop } from './run-task.ts';
import { changeTask } from './tasks/change.ts';

/** One of two files to compare. */
export interface ComparedFile {
  readonly path: string;
  /** What a person calls it. */
  readonly name: string;
  /** SHA-256 of its bytes where it is known already. */
  readonly sha256?: string;
}

/**
 * What changed from one file to another of the same song. Runs in the pool and is kept, like every heavy work.
 * Rejects with CodedError: whatever reading the files gives, SOUND_TOO_LONG, JOB_CANCELLED.
 */
export async function compareFiles(
  before: ComparedFile,
  after: ComparedFile,
  workshop: Workshop,
  run: Run = {},
): Promise<ChangeReport> {
  const known = await Promise.all(
    [before, after].map(async ({ path, sha256 }, i) => {
      if (sha256 !== undefined) return { path, sha256 };
      const file = hashedFile(path, partOfRun(run, 0.02 * i, 0.02 * (i + 1)));
      return { ...file, sha256: await file.sha256 };
    }),
  );
  const change = await runTask(changeTask, { files: known, options: {} }, workshop, partOfRun(run, 0.04, 1));
  return changeReportOf(
    { name: before.name, sha256: known[0].sha256 },
    { name: after.name, sha256: known[1].sha256 },
    change,
  );
}
