import { CodedError } from '../audio/coded-error.ts';
import { findFormat } from '../survive/formats.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { SurviveReport } from '../survive/survive-report.ts';
import type { Workshop } from './run-task.ts';
import type { SurviveSettings } from './shapes.ts';
import { surviveFile } from './survive-file.ts';

/** The formats of these ids, each once. CodedError REQUEST_INVALID for one that does not exist. */
export function chosenFormats(ids: readonly string[]): LossyFormat[] {
  const formats = ids.map((id) => {
    const format = findFormat(id);
    if (!format) throw new CodedError('REQUEST_INVALID', `There is no format “${id}”.`);
    return format;
  });
  return formats.filter(({ id }, i) => formats.findIndex((each) => each.id === id) === i);
}

interface WatchedRun {
  readonly name: string;
  readonly sha256: string;
  readonly signal: AbortSignal;
  onProgress(stage: string, fraction: number): void;
}

/**
 * A survive run whose findings are kept as they come: `keep` is called with the report so far, one call at a time, and
 * all calls have ended when this resolves or rejects. Rejects as surviveFile and `keep` do.
 */
export async function surviveVersion(
  path: string,
  settings: SurviveSettings,
  options: WatchedRun,
  workshop: Workshop,
  keep: (soFar: SurviveReport) => Promise<void>,
): Promise<SurviveReport> {
  let keeping: Promise<void> = Promise.resolve();
  let newest: SurviveReport | null = null;
  const onPartial = (report: SurviveReport): void => {
    newest = report;
    // Reports that come while the disk is busy replace each other: each holds all that the one before it held.
    keeping = keeping.then(async () => {
      const next = newest;
      newest = null;
      if (next) await keep(next);
    });
    // What went wrong is told at the end; until then it must not count as unhandled.
    keeping.catch(() => {});
  };
  try {
    return await surviveFile(
      path,
      {
        ...options,
        formats: chosenFormats(settings.formatIds),
        limitDbtp: settings.limitDbtp,
        findCeiling: settings.findCeiling,
        onPartial,
      },
      workshop,
    );
  } finally {
    await keeping;
  }
}
