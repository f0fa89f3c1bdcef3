import { rm } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { type Chain, changePart, emptyChain, readChain } from '../finish/chain.ts';
import { type FinishPlan, planFinish, type WrittenBits, wholeChain } from '../finish/finish-plan.ts';
import { type FinishReport, finishReportSchema } from '../judge/finish-report.ts';
import { finishSentences, normalisedOf } from '../judge/finish-words.ts';
import { withUnit } from '../judge/wording.ts';
import type { LossyFormat } from '../survive/round-trip-result.ts';
import { ceilingSteps, stepsAround } from './ceiling-steps.ts';
import { engineChoice } from './engine-choice.ts';
import { type FoundCeiling, finishSurviving } from './finish-surviving.ts';
import { named } from './format-fault.ts';
import { hashedFile, type KnownFile } from './hashed-file.ts';
import { kept, type Workshop } from './run-task.ts';
import { type FinishHead, finishHeadTask } from './tasks/finish-head.ts';
import {
  type FinishRendered,
  type FinishRenderOptions,
  finishRenderTask,
  type SearchFailed,
} from './tasks/finish-render.ts';

/** What a finishing is to reach beyond its chain. */
export interface FinishGoals {
  /** Integrated, LUFS; the chain's own level when left out. */
  readonly loudnessLufs?: number;
  /** dBTP; the limiter's own when left out. Not together with `survive`. */
  readonly ceilingDbtp?: number;
  /** The highest ceiling is searched at which all of these decode at or under the limit. */
  readonly survive?: { readonly formats: readonly LossyFormat[]; readonly limitDbtp: number };
  readonly bits?: WrittenBits;
}

export interface FinishOptions {
  readonly chain: Chain;
  readonly goals: FinishGoals;
  /** A folder of its own, where there is room for the sound as 32-bit floats and twice for the result. */
  readonly scratchPath: string;
  /** Shown in the report and in errors instead of the path's last part. */
  readonly name?: string;
  /** SHA-256 of the file's bytes where it is known already. */
  readonly sha256?: string;
  readonly signal?: AbortSignal;
  /** Told what is being done, for people, and the share of the whole that is done (0..1, never decreasing). */
  onProgress?(stage: string, fraction: number): void;
}

export interface Finished {
  readonly report: FinishReport;
  /** The file that was written, in the scratch folder: to be moved to where it belongs. */
  readonly path: string;
}

/** What a chain makes of a sound is kept under this; raised by whoever changes what a part or a goal gives. */
const finishing = { name: 'finish', version: 1 } as const;

/**
 * Renders a file through a chain, with what is asked for beyond: a loudness, a ceiling, formats to survive. The terminal and the
 * server both call this. What was found is kept: the same file, chain and goals are searched once, and rendering them again
 * gives the same bytes, which is looked at. Rejects with CodedError: CHAIN_INVALID, CHAIN_UNSUITABLE, FINISH_UNREACHABLE,
 * whatever reading the file gives, JOB_CANCELLED and the like; then nothing is left but the scratch folder.
 */
export async function finishFile(
  path: string,
  options: FinishOptions,
  workshop: Workshop,
): Promise<Finished> {
  try {
    return await new Finishing(path, options, workshop).run();
  } catch (error) {
    throw named(error, path, options.name ?? basename(path));
  }
}

class Finishing {
  readonly #path: string;
  readonly #name: string;
  readonly #options: FinishOptions;
  readonly #workshop: Workshop;
  readonly #outPath: string;
  #furthest = 0;
  #written = false;

  constructor(path: string, options: FinishOptions, workshop: Workshop) {
    this.#path = path;
    this.#name = options.name ?? basename(path);
    this.#options = options;
    this.#workshop = workshop;
    this.#outPath = join(options.scratchPath, 'finished.wav');
  }

  async run(): Promise<Finished> {
    const { chain, goals, sha256 } = this.#options;
    if (goals.survive && goals.ceilingDbtp !== undefined)
      throw new CodedError('REQUEST_INVALID', 'A ceiling is either told or searched for formats, not both.');
    const plan = planFinish(chain, {
      needsLimiter: [goals.loudnessLufs, goals.ceilingDbtp, goals.survive].some((goal) => goal !== undefined),
      bits: goals.bits,
    });
    const file: KnownFile = sha256 === undefined ? hashedFile(this.#path) : { path: this.#path, sha256 };
    const key = { chain, goals, engine: goals.survive ? await engineChoice() : null };
    const found = await kept(
      finishing,
      { files: [file], options: key },
      this.#workshop.results,
      { signal: this.#options.signal },
      () => this.#find(file, plan),
    );
    if (!this.#written) await this.#again(file, found);
    const report = finishReportSchema.parse({
      ...found,
      source: { ...found.source, name: this.#name, sha256: await file.sha256 },
    });
    return { report, path: this.#outPath };
  }

  /** Renders what was found before: the chain is complete, and the bytes must be the same. */
  async #again(file: KnownFile, { chain, made }: FinishReport): Promise<void> {
    const plan = planFinish(readChain(chain), { needsLimiter: false, bits: made.bits });
    const rendered = await this.#render(
      file,
      { ...this.#tailOptions(plan), head: plan.head, cost: false },
      this.#run('rendering', 0, 1),
    );
    if (rendered.made.sha256 !== made.sha256)
      throw new CodedError('INTERNAL', `“${this.#name}” came out otherwise than the last time.`);
  }

  async #find(file: KnownFile, plan: FinishPlan): Promise<FinishReport> {
    const { loudnessLufs, ceilingDbtp, survive } = this.#options.goals;
    if (loudnessLufs === undefined && !survive) {
      const tail = ceilingDbtp === undefined ? plan.tail : atCeiling(plan.tail, ceilingDbtp);
      const options = { ...this.#tailOptions(plan), tail, head: plan.head };
      return this.#report(plan, await this.#render(file, options, this.#run('rendering', 0, 1)));
    }
    const head = await this.#head(file, plan, this.#run('rendering', 0, 0.25));
    try {
      if (survive) return await this.#surviving(plan, head, survive);
      const ceiling = ceilingDbtp ?? Number(plan.limiter?.settings.ceilingDbtp);
      const options = { ...this.#tailOptions(plan), search: this.#searchAt(plan, head, ceiling) };
      const rendered = await this.#render(head.file, options, this.#run('finding the loudness', 0.25, 1));
      return this.#report(plan, { ...rendered, source: head.source });
    } finally {
      await rm(head.file.path, { force: true });
    }
  }

  async #surviving(
    plan: FinishPlan,
    head: RenderedHead,
    survive: NonNullable<FinishGoals['survive']>,
  ): Promise<FinishReport> {
    let guessDb: number | null = null;
    const { loudnessLufs } = this.#options.goals;
    const renderAt = async (ceilingDbtp: number, run: Run): Promise<FinishRendered> => {
      const search = loudnessLufs === undefined ? null : this.#searchAt(plan, head, ceilingDbtp, guessDb);
      const tail = atCeiling(plan.tail, ceilingDbtp);
      const rendered = await this.#render(
        head.file,
        { ...this.#tailOptions(plan), tail, search, cost: false },
        run,
      );
      guessDb = rendered.drive?.driveDb ?? guessDb;
      return rendered;
    };
    const found: FoundCeiling = await finishSurviving(
      survive,
      { renderAt, path: this.#outPath, workshop: this.#workshop },
      this.#run('coding', 0.25, 0.85),
    );
    // Once more, for the figures, and held against what was proven.
    const { tail, made } = found.rendered;
    this.#written = false;
    const [final, steps] = await Promise.all([
      this.#render(head.file, { ...this.#tailOptions(plan), tail }, this.#run('rendering', 0.85, 1)),
      ceilingSteps(
        head.file.path,
        { name: this.#name, tail, ceilings: stepsAround(found.ceilingDbtp, survive.limitDbtp) },
        this.#workshop.pool,
        { signal: this.#options.signal },
      ),
    ]);
    if (final.made.sha256 !== made.sha256)
      throw new CodedError('INTERNAL', `“${this.#name}” came out otherwise than it was proven.`);
    return this.#report(plan, { ...final, source: head.source }, { survival: found.survival, steps });
  }

  #tailOptions({ tail, bits }: FinishPlan): Omit<FinishRenderOptions, 'outPath'> {
    return { name: this.#name, head: emptyChain, tail, search: null, bits, cost: true };
  }

  #searchAt(plan: FinishPlan, head: RenderedHead, ceilingDbtp: number, guessDb: number | null = null) {
    const targetLufs = this.#options.goals.loudnessLufs as number;
    if (head.integratedLufs === null)
      throw new CodedError(
        'FINISH_UNREACHABLE',
        `“${this.#name}” has no loudness to be brought to ${withUnit(targetLufs, 'LUFS')}: it is silent, or shorter than 0.4 s.`,
      );
    return {
      targetLufs,
      guessDb: guessDb ?? targetLufs - head.integratedLufs,
      ceilingDbtp,
      trimId: plan.trimId,
    };
  }

  async #head(file: KnownFile, plan: FinishPlan, run: Run): Promise<RenderedHead> {
    const outPath = join(this.#options.scratchPath, 'head.wav');
    const options = { chain: plan.head, name: this.#name, outPath };
    const head: FinishHead = await this.#workshop.pool.run(
      finishHeadTask,
      { files: [{ path: file.path }], options },
      run,
    );
    return { ...head, file: { path: outPath } };
  }

  /** Writes the file; FINISH_UNREACHABLE when a loudness cannot be had. */
  async #render(
    file: { readonly path: string },
    options: Omit<FinishRenderOptions, 'outPath'>,
    run: Run,
  ): Promise<FinishRendered> {
    const input = { files: [{ path: file.path }], options: { ...options, outPath: this.#outPath } };
    const answer: FinishRendered | SearchFailed = await this.#workshop.pool.run(finishRenderTask, input, run);
    if ('failed' in answer) throw unreachable(this.#name, answer, options);
    this.#written = true;
    return answer;
  }

  #report(
    plan: FinishPlan,
    { source, tail, made, cost }: FinishRendered,
    more: (Pick<FoundCeiling, 'survival'> & { steps: FinishReport['steps'] }) | null = null,
  ): FinishReport {
    const { sampleRate, frames, ...rest } = made;
    const limiter = plan.limiter && tail.parts.find(({ id }) => id === plan.limiter?.id);
    const figures = {
      source: {
        name: '',
        sha256: '',
        sampleRate: source.sampleRate,
        channels: source.channels,
        seconds: source.frames / source.sampleRate,
        integratedLufs: source.integratedLufs,
        truePeakDbtp: source.truePeakDbtp,
      },
      made: {
        ...rest,
        sampleRate,
        frames,
        channels: source.channels,
        seconds: frames / sampleRate,
        bits: plan.bits,
      },
      ceilingDbtp: limiter ? Number(limiter.settings.ceilingDbtp) : null,
      loudnessLufs: this.#options.goals.loudnessLufs ?? null,
      cost,
      survive: more?.survival ?? null,
    };
    return {
      ...figures,
      chain: { ...wholeChain({ head: plan.head, tail }), parts: [...plan.head.parts, ...tail.parts] },
      steps: more?.steps ?? [],
      normalised: normalisedOf(figures.made),
      sentences: finishSentences(figures, plan),
    };
  }

  /** Progress that never goes back. */
  #run(stage: string, from: number, to: number): Run {
    const whole: Run = {
      signal: this.#options.signal,
      progress: (fraction) => {
        this.#furthest = Math.max(this.#furthest, Math.min(1, fraction));
        this.#options.onProgress?.(stage, this.#furthest);
      },
    };
    return partOfRun(whole, from, to);
  }
}

type RenderedHead = FinishHead & { readonly file: { readonly path: string } };

function atCeiling(tail: Chain, ceilingDbtp: number): Chain {
  return changePart(tail, tail.parts[0].id, { ceilingDbtp });
}

function unreachable(
  name: string,
  { failed }: SearchFailed,
  { search }: Pick<FinishRenderOptions, 'search'>,
): CodedError {
  const target = withUnit(search?.targetLufs ?? 0, 'LUFS');
  const why =
    failed === null
      ? 'what comes out of the chain has no loudness: it is silent, or shorter than 0.4 s.'
      : `under a ceiling of ${withUnit(search?.ceilingDbtp ?? 0, 'dBTP', 2)} it comes to ${withUnit(failed.integratedLufs, 'LUFS', 2)} with the limiter driven by ${withUnit(failed.driveDb, 'dB')}, and no nearer. Ask for less, or raise the ceiling.`;
  return new CodedError('FINISH_UNREACHABLE', `“${name}” cannot be brought to ${target}: ${why}`);
}
