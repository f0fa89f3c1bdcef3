import { basename } from 'node:path';
import { type EngineChoice, wasmOnly } from '../audio/files/lossy/engine.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import {
  ceilingAnswers,
  estimateSentence,
  formatSentence,
  leaningOf,
  surviveHeadline,
} from '../judge/survive-words.ts';
import { decidingMoments } from '../survive/deciding-moments.ts';
import { coarsestFormats, estimateFrom, type LikelyStretches, type QuickPeaks } from '../survive/estimate.ts';
import { findCeiling } from '../survive/find-ceiling.ts';
import { surviveFormats } from '../survive/formats.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import type { FormatFigures } from '../survive/survive-format.ts';
import {
  type FormatFailure,
  type FormatSurvival,
  type SurviveEstimate,
  type SurviveReport,
  surviveReportSchema,
} from '../survive/survive-report.ts';
import { engineChoice } from './engine-choice.ts';
import { failureOf, isFormatFault, limited, named } from './format-fault.ts';
import { hashedFile, type KnownFile } from './hashed-file.ts';
import { kept, keptResult, runTask, type Workshop } from './run-task.ts';
import { codedPeakTask } from './tasks/coded-peak.ts';
import { type Measured, measureTask } from './tasks/measure.ts';
import { cutLikelyTask, likelyPeakTask, warmCodecsTask } from './tasks/quick-peaks.ts';
import { type SurviveFormatOptions, surviveFormatTask } from './tasks/survive-format.ts';
import type { Task } from './tasks/task.ts';

export interface SurviveFileOptions {
  /** Shown in the report and in errors instead of the path's last part. */
  readonly name?: string;
  /** SHA-256 of the file's bytes where it is known already; otherwise the file is hashed first. */
  readonly sha256?: string;
  /** The default matrix when left out. */
  readonly formats?: readonly LossyFormat[];
  /** Highest true peak allowed after decoding, dBTP; 0 when left out. */
  readonly limitDbtp?: number;
  readonly findCeiling?: boolean;
  readonly signal?: AbortSignal;
  /** Told what is being done, for people, and the share of the whole that is done (0..1, never decreasing). */
  onProgress?(stage: string, fraction: number): void;
  /** Told the quick estimate as soon as it stands; not for short songs, which need none. */
  onEstimate?(estimate: SurviveEstimate): void;
  /** Told the report as far as it goes: with the quick estimate first, then with every format that is finished. */
  onPartial?(report: SurviveReport): void;
}

/** Shares of the whole at which the stages end (by feel, for the progress bar only). */
const estimatedAt = 0.08;
const measuredAt = 0.15;

/**
 * What lossy coding does to one file: a quick estimate, then every format for real, then, when asked for, the ceiling
 * that survives them all. The terminal and the server both call this. Every encode is a task whose result is kept, so
 * that a stopped run goes on where it was. A format that fails is named and stops nothing. Rejects with CodedError:
 * whatever reading the file gives, or JOB_CANCELLED and the like.
 */
export async function surviveFile(
  path: string,
  options: SurviveFileOptions,
  workshop: Workshop,
): Promise<SurviveReport> {
  const name = options.name ?? basename(path);
  try {
    return await new Survival(path, name, options, workshop).run();
  } catch (error) {
    throw named(error, path, name);
  }
}

type HashedFile = KnownFile & { readonly sha256: string };

class Survival {
  readonly #path: string;
  readonly #name: string;
  readonly #options: SurviveFileOptions;
  readonly #workshop: Workshop;
  readonly #formats: readonly LossyFormat[];
  readonly #limitDbtp: number;
  readonly #engine: Promise<EngineChoice> = engineChoice();
  readonly #rows = new Map<string, FormatFigures>();
  readonly #failed: FormatFailure[] = [];
  #estimate: SurviveEstimate | null = null;
  #furthest = 0;

  constructor(path: string, name: string, options: SurviveFileOptions, workshop: Workshop) {
    this.#path = path;
    this.#name = name;
    this.#options = options;
    this.#workshop = workshop;
    this.#formats = options.formats ?? surviveFormats;
    this.#limitDbtp = options.limitDbtp ?? 0;
  }

  async run(): Promise<SurviveReport> {
    const file = await this.#knownFile();
    let coding = (): void => {};
    const atWork = new Promise<void>((resolve) => {
      coding = resolve;
    });
    const estimating = this.#quickPeaks(file, coding)
      .finally(coding)
      .then((estimate) => {
        this.#estimate = estimate;
        if (estimate) this.#options.onEstimate?.(estimate);
      });
    // Behind the quick answer in the queue of the threads.
    const measuring = atWork.then(() =>
      runTask(
        measureTask,
        { files: [file], options: {} },
        this.#workshop,
        partOfRun(this.#stage('measuring'), estimatedAt, measuredAt),
      ),
    );
    const [estimated] = await Promise.allSettled([estimating, measuring]);
    // What is wrong with the file itself is told by the measuring.
    const measured = await measuring;
    if (estimated.status === 'rejected') throw estimated.reason;
    await this.#findRows(file, measured);
    this.#tell(file, measured);
    const searchedAt = this.#options.findCeiling ? 0.6 : 1;
    await this.#codeAll(file, measured, searchedAt);
    if (!this.#options.findCeiling) return this.#report(file, measured, null);
    const ceiling = await this.#findCeiling(file, measured, searchedAt);
    return this.#report(file, measured, ceiling);
  }

  async #knownFile(): Promise<HashedFile> {
    const path = this.#path;
    if (this.#options.sha256 !== undefined) return { path, sha256: this.#options.sha256 };
    const file = hashedFile(path, partOfRun(this.#stage('reading'), 0, 0.02));
    return { ...file, sha256: await file.sha256 };
  }

  /** @param coding called when all that the estimate needs is under way or done */
  async #quickPeaks(file: HashedFile, coding: () => void): Promise<SurviveEstimate | null> {
    const formats = coarsestFormats(this.#formats);
    // Whichever engine is used gives the peaks of this one.
    const options = { formats, codecs: wasmOnly.wasm };
    const { pool, results } = this.#workshop;
    const run = partOfRun(this.#stage('estimating'), 0.02, estimatedAt);
    const quick = await kept(quickPeaks, { files: [file], options }, results, run, () =>
      this.#codeLikely(file, formats, pool, coding),
    ).catch((error: unknown) => {
      // The estimate only saves waiting: without it the formats are coded all the same, and say what is wrong.
      if (!isFormatFault(error)) throw error;
      return null;
    });
    if (!quick || quick.peaks.length === 0) return null;
    const estimate = estimateFrom(quick, this.#limitDbtp);
    return { ...estimate, sentence: estimateSentence(estimate, this.#limitDbtp) };
  }

  /** While one thread looks for the passages, the others get the codecs ready; then each format is a task. */
  async #codeLikely(
    file: HashedFile,
    formats: readonly LossyFormat[],
    pool: Workshop['pool'],
    coding: () => void,
  ): Promise<QuickPeaks> {
    const run = { signal: this.#options.signal };
    const cutting: Promise<LikelyStretches> = pool.run(
      cutLikelyTask,
      // The path and the hash alone: what can verify them does not travel to a thread.
      { files: [{ path: file.path, sha256: file.sha256 }], options: { formats } },
      run,
    );
    const warming = pool.size > 1 ? this.#warm(formats, pool) : null;
    const [likely, engine] = await Promise.all([cutting, this.#engine]);
    const { passages, share } = likely;
    if (passages.length === 0) return { passages, share, peaks: [], failed: [] };
    const part = this.#together('estimating', 0.02, estimatedAt, formats.length);
    const failed: FormatFailure[] = [];
    const coded = slowestFirst(formats).map(async ({ format, i }) => {
      const options = { likely, format, engine };
      try {
        const truePeakDbtp: number | null = await pool.run(likelyPeakTask, { files: [], options }, part(i));
        return [{ formatId: format.id, format: format.label, truePeakDbtp }];
      } catch (error) {
        if (!isFormatFault(error)) throw error;
        failed.push(failureOf(format, error));
        return [];
      }
    });
    coding();
    const peaks = (await Promise.all(coded)).flat();
    await warming;
    return {
      passages,
      share,
      peaks: formats.flatMap(({ id }) => peaks.filter(({ formatId }) => formatId === id)),
      failed,
    };
  }

  /** Gets ready what codes in WebAssembly: Opus, and the rest when the machine's ffmpeg is not used for it. */
  async #warm(formats: readonly LossyFormat[], pool: Workshop['pool']): Promise<void> {
    const engine = await this.#engine;
    const inWasm = formats.filter(({ codec }) => codec === 'opus' || !engine.system?.codecs.includes(codec));
    if (inWasm.length === 0) return;
    const options = { formats: inWasm, engine };
    // What stops here stops again where it is told.
    await pool.run(warmCodecsTask, { files: [], options }, { signal: this.#options.signal }).catch(() => {});
  }

  /** What an earlier run had finished is told from the beginning. */
  async #findRows(file: HashedFile, measured: Measured): Promise<void> {
    await Promise.all(
      this.#formats.map(async (format) => {
        const options = await this.#optionsOf(format, measured);
        const figures = await keptResult(surviveFormatTask, { files: [file], options }, this.#workshop);
        if (figures) this.#rows.set(format.id, figures);
      }),
    );
  }

  async #optionsOf(format: LossyFormat, { measurement }: Measured): Promise<SurviveFormatOptions> {
    const { truePeakDbtp } = measurement.peak;
    const { integratedLufs } = measurement.loudness;
    return { format, engine: await this.#engine, truePeakDbtp, integratedLufs };
  }

  /** All formats at once: the pool spreads them over its threads. */
  async #codeAll(file: HashedFile, measured: Measured, until: number): Promise<void> {
    const part = this.#together('coding', measuredAt, until, this.#formats.length);
    await Promise.all(
      slowestFirst(this.#formats).map(async ({ format, i }) => {
        const options = await this.#optionsOf(format, measured);
        const task = limited(surviveFormatTask, measured.measurement);
        try {
          const figures = await runTask(
            task,
            { files: [file], options },
            this.#workshop,
            part(i, format.label),
          );
          this.#rows.set(format.id, figures);
        } catch (error) {
          if (!isFormatFault(error)) throw error;
          this.#failed.push(failureOf(format, error));
        }
        part(i, format.label).progress?.(1);
        this.#tell(file, measured);
      }),
    );
  }

  async #findCeiling(file: HashedFile, measured: Measured, from: number): Promise<SurviveReport['ceiling']> {
    const { truePeakDbtp } = measured.measurement.peak;
    const task = limited(codedPeakTask, measured.measurement);
    const engine = await this.#engine;
    const figures = await findCeiling(
      {
        limitDbtp: this.#limitDbtp,
        truePeakDbtp,
        rows: this.#formats.flatMap((format) => {
          const row = this.#rows.get(format.id);
          return row ? [{ format, decodedDbtp: row.truePeakDbtp }] : [];
        }),
        atOnce: this.#workshop.pool.size,
      },
      async (format, trimDb, run) => {
        const options = { format, engine, trimDb };
        return (await runTask(task, { files: [file], options }, this.#workshop, run)).truePeakDbtp;
      },
      partOfRun(this.#stage('finding the ceiling'), from, 1),
    );
    return { ...figures, answers: ceilingAnswers(figures) };
  }

  #tell(file: HashedFile, measured: Measured): void {
    if (this.#options.onPartial) this.#options.onPartial(this.#report(file, measured, null));
  }

  #report({ sha256 }: HashedFile, measured: Measured, ceiling: SurviveReport['ceiling']): SurviveReport {
    const { info, measurement } = measured;
    const formats = this.#formats.flatMap((format): FormatSurvival[] => {
      const figures = this.#rows.get(format.id);
      if (!figures) return [];
      return [{ ...figures, leaning: leaningOf(format), sentence: formatSentence(figures, this.#limitDbtp) }];
    });
    const report = {
      file: {
        name: this.#name,
        sha256,
        container: info.container,
        codec: info.codec,
        sampleRate: measurement.sampleRate,
        channels: measurement.channels,
        frames: measurement.frames,
        seconds: measurement.seconds,
      },
      limitDbtp: this.#limitDbtp,
      before: {
        integratedLufs: measurement.loudness.integratedLufs,
        truePeakDbtp: measurement.peak.truePeakDbtp,
        samplePeakDbfs: measurement.peak.samplePeakDbfs,
        overs: measurement.peak.overCount,
      },
      estimate: this.#estimate,
      formats,
      failed: this.#formats.flatMap(({ id }) => this.#failed.filter(({ formatId }) => formatId === id)),
      moments: decidingMoments(formats, this.#limitDbtp),
      ceiling,
    };
    // The schema refuses NaN and infinity, and drops what the report does not promise.
    return surviveReportSchema.parse({
      ...report,
      headline: surviveHeadline(report, this.#formats.length),
    });
  }

  /** A run that reports into one (stage, fraction) that never goes back. */
  #stage(stage: string): Run {
    return {
      signal: this.#options.signal,
      progress: (fraction) => {
        this.#furthest = Math.max(this.#furthest, Math.min(1, fraction));
        this.#options.onProgress?.(stage, this.#furthest);
      },
    };
  }

  /** Runs of several works at once that report their mean. */
  #together(stage: string, from: number, to: number, count: number): (index: number, label?: string) => Run {
    const shares = new Array<number>(count).fill(0);
    return (index, label) => {
      const part = partOfRun(this.#stage(label ? `${stage} ${label}` : stage), from, to);
      return {
        signal: part.signal,
        progress: (fraction) => {
          shares[index] = Math.max(shares[index], fraction);
          part.progress?.(shares.reduce((sum, share) => sum + share, 0) / count);
        },
      };
    };
  }
}

/** Under what the quick answer is kept. */
const quickPeaks: Pick<
  Task<{ formats: readonly LossyFormat[]; codecs: string }, QuickPeaks>,
  'name' | 'version'
> = {
  name: 'quick-peaks',
  version: 2,
};

/** Processor time of a codec, roughly and relative: measured on the demo record. */
const codecSlowness: Record<LossyFormat['codec'], number> = {
  opus: 5,
  mp3: 4,
  vorbis: 4,
  aac: 2.5,
  sbc: 1.5,
};

function slowness({ codec, then }: LossyFormat): number {
  return codecSlowness[codec] + (then ? codecSlowness[then.codec] : 0);
}

/** The slowest first, so that the threads end together; with their places. */
function slowestFirst(formats: readonly LossyFormat[]): { format: LossyFormat; i: number }[] {
  return formats.map((format, i) => ({ format, i })).sort((a, b) => slowness(b.format) - slowness(a.format));
}
