import { CodedError } from '../audio/coded-error.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { FinishSurvival } from '../judge/finish-report.ts';
import { list, signed } from '../judge/wording.ts';
import { type CeilingPoint, keepsLimit } from '../survive/ceiling-search.ts';
import { findCeiling } from '../survive/find-ceiling.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { FormatFailure } from '../survive/survive-report.ts';
import { engineChoice } from './engine-choice.ts';
import { failureOf, isFormatFault, limited } from './format-fault.ts';
import { runTask, type Workshop } from './run-task.ts';
import { codedPeakTask } from './tasks/coded-peak.ts';
import type { FinishRendered } from './tasks/finish-render.ts';

export interface FoundCeiling {
  readonly ceilingDbtp: number;
  /** The rendering whose very bytes every format was coded from. */
  readonly rendered: FinishRendered;
  readonly survival: FinishSurvival;
}

interface Surviving {
  /** Renders to `path` with the limiter at a ceiling. */
  renderAt(ceilingDbtp: number, run: Run): Promise<FinishRendered>;
  readonly path: string;
  readonly workshop: Workshop;
}

/**
 * The highest ceiling at which every format decodes at or under the limit, the limiter in the loop: each level that is thought of is
 * rendered anew to the bytes that would be delivered, and those are coded. Encodes are kept under the bytes' hash, so a run
 * that was stopped goes on where it was. Rejects with FINISH_UNREACHABLE when none is found.
 */
export async function finishSurviving(
  { formats, limitDbtp }: { readonly formats: readonly LossyFormat[]; readonly limitDbtp: number },
  { renderAt, path, workshop }: Surviving,
  run: Run,
): Promise<FoundCeiling> {
  const engine = await engineChoice();
  // One level after the other: the file of the last is overwritten by that of the next.
  let current: { readonly downDb: number; readonly rendered: Promise<FinishRendered> } | null = null;
  const made = new Map<number, FinishRendered>();
  const broken: unknown[] = [];
  const at = (downDb: number): Promise<FinishRendered> => {
    if (current?.downDb === downDb) return current.rendered;
    const rendered = renderAt(ceilingAt(limitDbtp, downDb), { signal: run.signal }).then(
      (each) => {
        made.set(downDb, each);
        return each;
      },
      (error: unknown) => {
        // Not the fault of the format that asked.
        broken.push(error);
        throw error;
      },
    );
    current = { downDb, rendered };
    return rendered;
  };
  const codeAt = async (format: LossyFormat, downDb: number, part: Run): Promise<number | null> => {
    const { source, made: written } = await at(downDb);
    const options = { format, engine, trimDb: 0 };
    const file = { path, sha256: written.sha256 };
    const task = limited(codedPeakTask, { frames: written.frames, channels: source.channels });
    return (await runTask(task, { files: [file], options }, workshop, part)).truePeakDbtp;
  };
  const failed: FormatFailure[] = [];
  await at(0);
  const first = await Promise.all(
    formats.map(async (format) => {
      try {
        return [{ format, decodedDbtp: await codeAt(format, 0, { signal: run.signal }) }];
      } catch (error) {
        if (!isFormatFault(error)) throw error;
        failed.push(failureOf(format, error));
        return [];
      }
    }),
  );
  run.progress?.(0.25);
  const rows = first.flat();
  if (rows.length === 0)
    throw new CodedError(
      'FINISH_UNREACHABLE',
      `None of the formats could be tried: ${failed.map(({ format, reason }) => `${format}: ${reason}`).join(' ')}`,
    );
  const found = await findCeiling(
    { limitDbtp, truePeakDbtp: limitDbtp, rows, atOnce: workshop.pool.size, togetherOnly: true },
    codeAt,
    partOfRun(run, 0.25, 1),
  );
  if (broken.length > 0) throw broken[0];
  const rendered = made.get(found.trimDb);
  const ceilingDbtp = ceilingAt(limitDbtp, found.trimDb);
  failed.push(...found.failed);
  const peaks = found.formats.flatMap(({ points }) => points);
  const held = found.formats.every(({ points }) => {
    const point = points.find(({ trimDb }) => trimDb === found.trimDb);
    return point !== undefined && keepsLimit(point.truePeakDbtp, limitDbtp);
  });
  if (!rendered || !held || found.formats.length === 0)
    throw new CodedError(
      'FINISH_UNREACHABLE',
      `No ceiling was found at which ${list(rows.map(({ format }) => format.label))} all decode at or under ${signed(limitDbtp, 'dBTP', 2)}; the last that was tried is ${signed(ceilingDbtp, 'dBTP', 2)}.`,
    );
  const levels = [...new Set(peaks.map(({ trimDb }) => trimDb))];
  return {
    ceilingDbtp,
    rendered,
    survival: {
      limitDbtp,
      verified: failed.length === 0,
      encodes: found.encodes,
      formats: found.formats.map(({ formatId, format, points }) => ({
        formatId,
        format,
        truePeakDbtp: points.find(({ trimDb }) => trimDb === found.trimDb)?.truePeakDbtp ?? null,
      })),
      failed,
      tried: levels.map((trimDb) => ({
        ceilingDbtp: ceilingAt(limitDbtp, trimDb),
        highestDbtp: highest(peaks.filter((point) => point.trimDb === trimDb)),
      })),
    },
  };
}

/** On the grid of hundredths: what stands in the chain is what was rendered. */
function ceilingAt(limitDbtp: number, downDb: number): number {
  return Math.round((limitDbtp - downDb) * 100) / 100;
}

function highest(points: readonly CeilingPoint[]): number | null {
  const peaks = points.flatMap(({ truePeakDbtp }) => (truePeakDbtp === null ? [] : [truePeakDbtp]));
  return peaks.length === 0 ? null : Math.max(...peaks);
}
