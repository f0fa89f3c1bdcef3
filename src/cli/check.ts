import { CodedError } from '../audio/coded-error.ts';
import { type Checked, checkFile } from '../bench/check-file.ts';
import { displayName } from '../bench/display-name.ts';
import { Pool } from '../bench/pool.ts';
import type { Facts } from '../judge/facts.ts';
import type { CheckReport, FileFailure } from '../judge/file-report.ts';
import type { ProfileId } from '../judge/profiles.ts';
import { type ExitCode, exitCodes } from './exit-codes.ts';
import { untilInterrupted } from './interrupt.ts';
import { workOn } from './progress.ts';
import { canDraw } from './terminal/can-draw.ts';
import { complain } from './terminal/complain.ts';
import { styleFor } from './terminal/style.ts';
import { refuseBadPlace, writeWhole } from './write-whole.ts';

export interface CheckCommand {
  readonly json: boolean;
  /** Where to write the report for people, besides what is printed; null: nowhere. */
  readonly htmlPath: string | null;
  readonly lossy: boolean;
  /** What the files are for; null: the usual profile. */
  readonly profile: ProfileId | null;
  /** What the files are: decides the usual profile and what is asked of them. */
  readonly kind: Facts['kind'];
  /** Every figure in the text, not only those that matter most. */
  readonly all: boolean;
  /** Do not use kept results, and keep none. */
  readonly fresh: boolean;
  /** Worker threads; all cores when left out. */
  readonly workers?: number;
}

/** `everyroom check`: checks the files, prints the result, answers with the exit code. */
export async function check(paths: readonly string[], command: CheckCommand): Promise<ExitCode> {
  if (command.htmlPath !== null) await refuseBadPlace(command.htmlPath);
  const interrupt = untilInterrupted();
  // One song that is only measured gives each thread one thing to do: it ends while the rest goes on.
  const once = paths.length === 1 && !command.lossy;
  const pool = new Pool({ size: command.workers, idleMilliseconds: once ? 0 : undefined });
  const results = command.fresh ? null : await keptResults();
  const checked = new Map<string, Checked>();
  const failures = new Map<string, CodedError>();
  try {
    const files = [...new Set(paths)];
    let left = files.length;
    const workshop = { pool, results, othersWait: () => left > 1 };
    await workOn(
      files,
      async (path, onProgress) => {
        try {
          if (interrupt.signal.aborted) return false;
          const options = {
            name: displayName(path),
            lossy: command.lossy,
            kind: command.kind,
            profile: command.profile ?? undefined,
            signal: interrupt.signal,
            onProgress,
          };
          checked.set(path, await checkFile(path, options, workshop));
          return true;
        } catch (error) {
          failures.set(path, codedError(error, displayName(path)));
          return false;
        } finally {
          left--;
        }
      },
      // One more than there are threads, so that one file is read while the others are being worked on.
      {
        atOnce: pool.size + 1,
        name: displayName,
        isTerminal: canDraw(process.stderr),
      },
    );
    if (interrupt.signal.aborted) {
      process.stderr.write('Stopped; nothing was written.\n');
      return exitCodes.interrupted;
    }
    const done = files.flatMap((path) => checked.get(path) ?? []);
    const failed = files.flatMap((path): FileFailure[] => {
      const error = failures.get(path);
      return error ? [{ name: displayName(path), code: error.code, message: error.message }] : [];
    });
    for (const path of files) if (failures.has(path)) complain(failures.get(path));
    await print({ files: done.map(({ report }) => report), failed }, command);
    if (command.htmlPath !== null) await writeHtml(command.htmlPath, done, failed);
    if (failed.length > 0) return exitCodes.failed;
    return done.some(({ report }) => report.findings.some((finding) => finding.severity === 'mend'))
      ? exitCodes.somethingToMend
      : exitCodes.nothingToMend;
  } finally {
    interrupt.release();
    await pool.close();
    await results?.close();
  }
}

// Only the way to the threads is loaded before they start; what is said in the end, and what keeps results, comes when
// it is wanted.
async function keptResults() {
  const { openResultsIfPossible } = await import('./results.ts');
  return openResultsIfPossible();
}

/** A fault of ours in one file must not take the others with it. */
function codedError(error: unknown, name: string): CodedError {
  if (error instanceof CodedError)
    return error.message.includes(name)
      ? error
      : new CodedError(error.code, `“${name}”: ${error.message}`, { cause: error });
  const reason = error instanceof Error ? error.message : String(error);
  return new CodedError(
    'INTERNAL',
    `“${name}” could not be checked because Everyroom itself failed: ${reason}`,
    {
      cause: error,
    },
  );
}

async function print(result: CheckReport, { json, all }: CheckCommand): Promise<void> {
  if (json) {
    process.stdout.write(`${JSON.stringify(result, null, 2)}\n`);
    return;
  }
  const { checkText } = await import('./check-text.ts');
  const isTerminal = process.stdout.isTTY === true;
  const style = styleFor(isTerminal);
  const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 80));
  process.stdout.write(checkText(result, { style, width, all }));
}

async function writeHtml(path: string, done: readonly Checked[], failed: FileFailure[]): Promise<void> {
  const { reportHtml } = await import('../deliver/report-html.ts');
  await writeWhole(path, reportHtml(done, { failed, madeAt: new Date().toISOString() }));
  process.stderr.write(`The report is in ${path}\n`);
}
