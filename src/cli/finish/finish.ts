import { readFile } from 'node:fs/promises';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { displayName } from '../../bench/display-name.ts';
import { type FinishGoals, finishFile } from '../../bench/finish-file.ts';
import { Pool } from '../../bench/pool.ts';
import { type Chain, readChain } from '../../finish/chain.ts';
import type { FinishReport } from '../../judge/finish-report.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { workOn } from '../progress.ts';
import { openResultsIfPossible } from '../results.ts';
import { canDraw } from '../terminal/can-draw.ts';
import { styleFor } from '../terminal/style.ts';
import { finishText } from './finish-text.ts';
import { nowhere, placeFor } from './place.ts';

export interface FinishCommand {
  readonly chainPath: string;
  readonly goals: FinishGoals;
  /** null: nothing is written (a dry run). */
  readonly outPath: string | null;
  readonly json: boolean;
  readonly force: boolean;
  /** Do not use kept results, and keep none. */
  readonly fresh: boolean;
}

/**
 * `everyroom finish`: renders a file through a chain into another. The result appears under its name when it is whole and on the
 * disk; a run that fails or is stopped leaves nothing. Ends with 1 when a format could not be tried.
 */
export async function finish(path: string, command: FinishCommand): Promise<ExitCode> {
  const chain = await chainFrom(command.chainPath);
  const place =
    command.outPath === null ? await nowhere() : await placeFor(command.outPath, path, command.force);
  const interrupt = untilInterrupted();
  const pool = new Pool();
  const results = command.fresh ? null : await openResultsIfPossible();
  try {
    let failure: unknown;
    let report: FinishReport | undefined;
    const work = async (_title: string, onProgress: (stage: string, fraction: number) => void) => {
      try {
        const finished = await finishFile(
          path,
          {
            chain,
            goals: command.goals,
            scratchPath: place.scratchPath,
            name: displayName(path),
            signal: interrupt.signal,
            onProgress,
          },
          { pool, results },
        );
        interrupt.signal.throwIfAborted();
        await place.settle(finished.path);
        report = finished.report;
        return true;
      } catch (error) {
        failure = error;
        return false;
      }
    };
    const isTerminal = canDraw(process.stderr);
    await workOn([displayName(path)], work, {
      atOnce: 1,
      verb: 'finishing',
      name: (text) => text,
      isTerminal,
    });
    if (!report && interrupt.signal.aborted) {
      process.stderr.write('Stopped; nothing was written. What was found out so far is kept.\n');
      return exitCodes.interrupted;
    }
    if (!report) throw failure;
    print(report, command);
    return report.survive?.verified === false ? exitCodes.somethingToMend : exitCodes.nothingToMend;
  } finally {
    interrupt.release();
    await pool.close();
    await results?.close();
    await place.clear();
  }
}

async function chainFrom(path: string): Promise<Chain> {
  const name = displayName(path);
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw fileError(error, path, 'read');
  }
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (error) {
    throw new CodedError('CHAIN_INVALID', `“${name}” is no JSON: ${(error as Error).message}`);
  }
  try {
    return readChain(data);
  } catch (error) {
    if (!(error instanceof CodedError)) throw error;
    throw new CodedError(error.code, `“${name}”: ${error.message}`, { cause: error });
  }
}

function print(report: FinishReport, { json, outPath }: FinishCommand): void {
  const isTerminal = process.stdout.isTTY === true;
  const width = Math.min(100, Math.max(40, (isTerminal && process.stdout.columns) || 80));
  const written = outPath === null ? null : displayName(outPath);
  process.stdout.write(
    json
      ? `${JSON.stringify({ written, ...report }, null, 2)}\n`
      : finishText(report, written, { style: styleFor(isTerminal), width }),
  );
}
