import { compareFiles } from '../bench/compare-files.ts';
import { displayName } from '../bench/display-name.ts';
import { Pool } from '../bench/pool.ts';
import type { ChangeReport } from '../judge/change-report.ts';
import { changeText } from './change-text.ts';
import { type ExitCode, exitCodes } from './exit-codes.ts';
import { untilInterrupted } from './interrupt.ts';
import { workOn } from './progress.ts';
import { openResultsIfPossible } from './results.ts';
import { canDraw } from './terminal/can-draw.ts';
import { styleFor } from './terminal/style.ts';

export interface CompareCommand {
  readonly json: boolean;
  /** Do not use kept results, and keep none. */
  readonly fresh: boolean;
}

/** `everyroom compare`: says what changed from one version of a song to another; two that are no versions of one song end with code 1. */
export async function compare(before: string, after: string, command: CompareCommand): Promise<ExitCode> {
  const interrupt = untilInterrupted();
  const pool = new Pool();
  const results = command.fresh ? null : await openResultsIfPossible();
  const file = (path: string) => ({ path, name: displayName(path) });
  try {
    let failure: unknown;
    let report: ChangeReport | undefined;
    const title = `${displayName(before)} → ${displayName(after)}`;
    await workOn(
      [title],
      async (_title, onProgress) => {
        try {
          report = await compareFiles(
            file(before),
            file(after),
            { pool, results },
            { signal: interrupt.signal, progress: (fraction) => onProgress('comparing', fraction) },
          );
          return true;
        } catch (error) {
          failure = error;
          return false;
        }
      },
      { atOnce: 1, verb: 'comparing', name: (text) => text, isTerminal: canDraw(process.stderr) },
    );
    if (interrupt.signal.aborted) {
      process.stderr.write('Stopped; nothing was written.\n');
      return exitCodes.interrupted;
    }
    if (!report) throw failure;
    const isTerminal = process.stdout.isTTY === true;
    const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 80));
    process.stdout.write(
      command.json
        ? `${JSON.stringify(report, null, 2)}\n`
        : changeText(report, { style: styleFor(isTerminal), width }),
    );
    return report.same === null ? exitCodes.somethingToMend : exitCodes.nothingToMend;
  } finally {
    interrupt.release();
    await pool.close();
    await results?.close();
  }
}
