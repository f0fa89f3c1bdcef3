import { mkdir } from 'node:fs/promises';
import { basename, extname, join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { fileError } from '../audio/files/file-error.ts';
import { displayName } from '../bench/display-name.ts';
import { engineChoice } from '../bench/engine-choice.ts';
import { Pool } from '../bench/pool.ts';
import { runTask, type Workshop } from '../bench/run-task.ts';
import { surviveFile } from '../bench/survive-file.ts';
import { keepDecodedTask } from '../bench/tasks/keep-decoded.ts';
import { signed } from '../judge/wording.ts';
import { keepsLimit } from '../survive/ceiling-search.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { SurviveReport, SurviveRun } from '../survive/survive-report.ts';
import { type ExitCode, exitCodes } from './exit-codes.ts';
import { untilInterrupted } from './interrupt.ts';
import { openResultsIfPossible } from './results.ts';
import { SurviveProgress } from './survive-progress.ts';
import { surviveText } from './survive-text.ts';
import { canDraw } from './terminal/can-draw.ts';
import { complain } from './terminal/complain.ts';
import { styleFor } from './terminal/style.ts';

export interface SurviveCommand {
  readonly formats: readonly LossyFormat[];
  readonly limitDbtp: number;
  readonly findCeiling: boolean;
  /** Folder for what the formats made of the files; null: nothing is kept. */
  readonly keepPath: string | null;
  readonly json: boolean;
  /** Do not use kept results, and keep none. */
  readonly fresh: boolean;
}

/**
 * `everyroom survive`: codes the files in every format, says what comes out, answers with the exit code: 1 when a
 * format decodes above the limit, 2 when a file could not be read or a format not be tried.
 */
export async function survive(paths: readonly string[], command: SurviveCommand): Promise<ExitCode> {
  if (command.keepPath !== null) await makeFolder(command.keepPath);
  const interrupt = untilInterrupted();
  const pool = new Pool();
  const results = command.fresh ? null : await openResultsIfPossible();
  const progress = new SurviveProgress(canDraw(process.stderr));
  const run: SurviveRun = { files: [], failed: [] };
  try {
    // One file after the other: the formats of one fill all threads.
    for (const path of new Set(paths)) {
      if (interrupt.signal.aborted) break;
      const name = displayName(path);
      progress.say(
        `coding ${name} in ${command.formats.length} ${command.formats.length === 1 ? 'format' : 'formats'}`,
      );
      try {
        const report = await tryFile(path, command, { pool, results }, interrupt.signal, progress);
        run.files.push(report);
        if (command.keepPath !== null)
          await keepAll(path, report, command, { pool, results: null }, interrupt.signal, progress);
      } catch (error) {
        if (interrupt.signal.aborted) break;
        const coded =
          error instanceof CodedError
            ? error
            : new CodedError('INTERNAL', `Everyroom itself failed on “${name}”: ${String(error)}`, {
                cause: error,
              });
        progress.end();
        complain(coded);
        run.failed.push({ name, code: coded.code, message: coded.message });
      }
    }
    progress.end();
    if (interrupt.signal.aborted) {
      process.stderr.write('Stopped. What was finished is kept and need not be coded again.\n');
      return exitCodes.interrupted;
    }
    print(run, command.json);
    return exitCode(run);
  } finally {
    interrupt.release();
    await pool.close();
    await results?.close();
  }
}

async function tryFile(
  path: string,
  { formats, limitDbtp, findCeiling }: SurviveCommand,
  workshop: Workshop,
  signal: AbortSignal,
  progress: SurviveProgress,
): Promise<SurviveReport> {
  const told = new Set<string>();
  return surviveFile(
    path,
    {
      name: displayName(path),
      formats,
      limitDbtp,
      findCeiling,
      signal,
      onProgress: (stage, fraction) => progress.move(stage, fraction),
      onEstimate: ({ sentence }) => progress.say(sentence),
      onPartial: (report) => {
        for (const { formatId, format, truePeakDbtp } of report.formats) {
          if (told.has(formatId)) continue;
          told.add(formatId);
          const peak = truePeakDbtp === null ? 'silence' : signed(truePeakDbtp, 'dBTP', 2);
          progress.say(`  ${format}: ${peak}${keepsLimit(truePeakDbtp, limitDbtp) ? '' : ', over'}`);
        }
        for (const { formatId, format, reason } of report.failed) {
          if (told.has(formatId)) continue;
          told.add(formatId);
          progress.say(`  ${format}: could not be tried. ${reason}`);
        }
      },
    },
    workshop,
  );
}

/** Writes what each format made of the file, at the level that was found when a ceiling was asked for. */
async function keepAll(
  path: string,
  { file, formats: rows, ceiling }: SurviveReport,
  { formats, keepPath }: SurviveCommand,
  workshop: Workshop,
  signal: AbortSignal,
  progress: SurviveProgress,
): Promise<void> {
  const engine = await engineChoice();
  const stem = basename(path, extname(path));
  const trimDb = ceiling?.trimDb ?? 0;
  const level = trimDb === 0 ? '' : `, ${trimDb.toFixed(2)} dB less`;
  await Promise.all(
    formats
      .filter(({ id }) => rows.some(({ formatId }) => formatId === id))
      .map(async (format) => {
        const name = `${stem} (${format.label.replace('→', 'then')}${level}).wav`;
        const outPath = join(keepPath ?? '', name);
        const options = { format, engine, trimDb, outPath };
        await runTask(keepDecodedTask, { files: [{ path, sha256: file.sha256 }], options }, workshop, {
          signal,
        });
        progress.say(`  kept ${name}`);
      }),
  );
}

async function makeFolder(path: string): Promise<void> {
  try {
    await mkdir(path, { recursive: true });
  } catch (error) {
    throw fileError(error, path, 'write');
  }
}

function exitCode({ files, failed }: SurviveRun): ExitCode {
  if (failed.length > 0 || files.some((report) => report.failed.length > 0)) return exitCodes.failed;
  const over = files.some(({ formats, limitDbtp }) =>
    formats.some(({ truePeakDbtp }) => !keepsLimit(truePeakDbtp, limitDbtp)),
  );
  return over ? exitCodes.somethingToMend : exitCodes.nothingToMend;
}

function print(run: SurviveRun, json: boolean): void {
  if (json) {
    process.stdout.write(`${JSON.stringify(run, null, 2)}\n`);
    return;
  }
  const isTerminal = process.stdout.isTTY === true;
  const style = styleFor(isTerminal);
  const width = Math.min(110, Math.max(40, (isTerminal && process.stdout.columns) || 100));
  const texts = run.files.map((report) => surviveText(report, { style, width }));
  process.stdout.write(texts.join(`\n${style.quiet('─'.repeat(width))}\n\n`));
}
