import { mkdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import type { Run } from '../audio/run.ts';
import { readChain } from '../finish/chain.ts';
import type { CeilingStep } from '../judge/finish-report.ts';
import { withUnit } from '../judge/wording.ts';
import type { Span } from '../measure/span.ts';
import { audioFilePath, type KeptFile, keepStaged } from './audio-store.ts';
import { ceilingStepsOf } from './ceiling-steps.ts';
import type { BenchEvents } from './events.ts';
import { type Finished, finishFile } from './finish-file.ts';
import { type FinishAsked, type FinishingState, type LoudnessAsked, readGoals } from './finish-shapes.ts';
import type { Home } from './home.ts';
import { newId } from './ids.ts';
import type { JobQueue } from './job-queue.ts';
import type { JobAsked, JobEnd } from './job-work.ts';
import type { Playback } from './playback.ts';
import { runTask, type Workshop } from './run-task.ts';
import type { Job, Version, VersionKind } from './shapes.ts';
import type { Store } from './store/database.ts';
import {
  type Draft,
  draftOf,
  draftsOf,
  dropDraft,
  isWanted,
  keepDraft,
  keepMaking,
  type Making,
  makingOf,
  makingsFrom,
  trimDrafts,
} from './store/finishings.ts';
import { addVersionIn, type Songs } from './store/songs.ts';
import { type ChainLoudness, chainLoudnessTask } from './tasks/chain-loudness.ts';

interface Parts {
  readonly home: Home;
  readonly store: Store;
  readonly workshop: Workshop;
  readonly events: BenchEvents;
  /** A version was made: to be checked, and shown. */
  arrived(versionId: string): Promise<void>;
}

/** Most bytes that drafts take together: a dozen songs at 24 bits. The newest choice stays whatever it takes. */
const mostDraftBytes = 2 ** 30;

/**
 * Finishing on the bench: versions are rendered through chains into new versions of their song, or into drafts at several
 * loudnesses that are heard before one is chosen.
 */
export class FinishingRoom {
  readonly #parts: Parts;

  constructor(parts: Parts) {
    this.#parts = parts;
  }

  /** A job's work: renders a version and adds what came out to its song. */
  async finish(asked: JobAsked): Promise<JobEnd> {
    const { chain, goals, ...wish } = asked.settings as FinishAsked;
    const { finished, file } = await this.#render(asked, { chain, goals });
    let versionId = '';
    return {
      keep: async (tx) => {
        const source = await tx
          .selectFrom('versions')
          .select(['song_id', 'name'])
          .where('id', '=', asked.versionId)
          .executeTakeFirstOrThrow();
        const name = wish.name ?? nameFor(source.name, finished);
        const added = await addVersionIn(tx, { songId: source.song_id, name, kind: wish.kind, file });
        versionId = added.versionId;
        const { versionId: fromVersionId } = asked;
        await keepMaking(tx, {
          versionId,
          fromVersionId,
          chainId: wish.chainId ?? null,
          goals,
          report: finished.report,
        });
      },
      told: () => this.#made(versionId, asked.versionId),
    };
  }

  /** A job's work: renders a version at each loudness that is thought of, as drafts. */
  async chooseLoudness(asked: JobAsked): Promise<JobEnd> {
    const { chain, candidates, goals } = asked.settings as LoudnessAsked;
    const { store, events } = this.#parts;
    const before = await draftsOf(store, asked.versionId);
    for (const [place, targetLufs] of candidates.entries()) {
      const draft = { jobId: asked.jobId, versionId: asked.versionId, place, targetLufs };
      const part = {
        ...asked,
        onProgress: (stage: string, fraction: number) =>
          asked.onProgress(
            `${withUnit(targetLufs, 'LUFS')}: ${stage}`,
            (place + fraction) / candidates.length,
          ),
      };
      try {
        const wanted = { chain, goals: { ...goals, loudnessLufs: targetLufs } };
        const { finished, file } = await this.#render(part, wanted);
        await keepDraft(store, { ...draft, made: { file, report: finished.report }, failure: null });
      } catch (error) {
        // One that cannot be reached is an answer, and no reason to keep the others from being made.
        if (!(error instanceof CodedError) || error.code !== 'FINISH_UNREACHABLE') throw error;
        const { code, message } = error;
        await keepDraft(store, { ...draft, made: null, failure: { code, message } });
      }
      events.emit('finish', asked.versionId);
    }
    await trimDrafts(store, mostDraftBytes);
    await this.#forgetFiles(before);
    return { keep: async () => {}, told: () => events.emit('finish', asked.versionId) };
  }

  /** Renders into the store of sounds. Nothing of the making is left, whatever happens. */
  async #render(
    { path, name, sha256, signal, onProgress }: JobAsked,
    { chain, goals }: Pick<FinishAsked, 'chain' | 'goals'>,
  ): Promise<{ readonly finished: Finished; readonly file: KeptFile }> {
    const { home, workshop } = this.#parts;
    const scratchPath = join(home.incomingPath, newId());
    await mkdir(scratchPath, { mode: 0o700 });
    try {
      const finished = await finishFile(
        path,
        { chain: readChain(chain), goals: readGoals(goals), scratchPath, name, sha256, signal, onProgress },
        workshop,
      );
      const { made } = finished.report;
      return { finished, file: await keepStaged(home, { path: finished.path, ...made }) };
    } finally {
      await rm(scratchPath, { recursive: true, force: true });
    }
  }

  #made(versionId: string, fromVersionId: string): void {
    const { events } = this.#parts;
    events.emit('finish', fromVersionId);
    // The job is done whatever becomes of the check.
    void this.#parts.arrived(versionId).catch(() => {});
  }

  async #forgetFiles(drafts: readonly Draft[]): Promise<void> {
    const { home, store } = this.#parts;
    for (const { made } of drafts)
      if (made && !(await isWanted(store, made.file.sha256)))
        await rm(audioFilePath(home, made.file.sha256), { force: true });
  }

  /** What was asked of a version and what came of it. */
  async state(version: Version, jobs: JobQueue): Promise<FinishingState> {
    const { store } = this.#parts;
    const [job, loudnessJob, made, drafts] = await Promise.all([
      jobs.newest('finish', version.id),
      jobs.newest('loudness', version.id),
      makingsFrom(store, version.id),
      draftsOf(store, version.id),
    ]);
    return { job, loudnessJob, made, drafts };
  }

  /** How a version was made; null when it was not made here. */
  madeFrom(version: Version): Promise<Making | null> {
    return makingOf(this.#parts.store, version.id);
  }

  /** Asks for a finishing, once what is asked for is known to make sense. CodedError CHAIN_INVALID, REQUEST_INVALID. */
  ask(
    version: Version,
    { chain, ...asked }: Omit<FinishAsked, 'chain'> & { readonly chain: unknown },
    jobs: JobQueue,
  ): Promise<Job> {
    readGoals(asked.goals);
    return jobs.enqueueFinish(version.id, { ...asked, chain: readChain(chain) });
  }

  /** Asks for a loudness choice, in the same way. */
  askLoudness(
    version: Version,
    { chain, ...asked }: Omit<LoudnessAsked, 'chain'> & { readonly chain: unknown },
    jobs: JobQueue,
  ): Promise<Job> {
    return jobs.enqueueInstead('loudness', version.id, { ...asked, chain: readChain(chain) });
  }

  /** How loud a version is after a chain; of a part of it, or of the whole. Kept. */
  chainLoudness(version: Version, chain: unknown, span: Span | null, run: Run): Promise<ChainLoudness> {
    const { workshop } = this.#parts;
    return runTask(
      chainLoudnessTask,
      { files: [this.#fileOf(version)], options: { chain: readChain(chain), span } },
      workshop,
      run,
    );
  }

  /** What each tenth of a version's ceiling costs. Kept. */
  async ceilingSteps(
    version: Version,
    { chain, ...asked }: { readonly chain: unknown; readonly fromDbtp?: number; readonly rows: number },
    run: Run,
  ): Promise<CeilingStep[]> {
    const { home, workshop } = this.#parts;
    const scratchPath = join(home.incomingPath, newId());
    await mkdir(scratchPath, { mode: 0o700 });
    try {
      const question = { ...asked, chain: readChain(chain), name: version.name };
      return await ceilingStepsOf(this.#fileOf(version), question, scratchPath, workshop, run);
    } finally {
      await rm(scratchPath, { recursive: true, force: true });
    }
  }

  /** Frames of a draft at a device's rate; zeros outside. CodedError NOT_FOUND. */
  async draftSound(
    id: string,
    { rate, from, frames }: { rate: number; from: number; frames: number },
    playback: Playback,
  ): Promise<{ readonly bytes: Uint8Array; readonly timelineFrames: number }> {
    const { file, report, name } = await this.#madeDraft(id);
    const timelineFrames = Math.ceil((report.made.frames * rate) / report.made.sampleRate);
    const sound = { sha256: file.sha256, name, rate, startSeconds: 0, driftPpm: 0, inverted: false };
    return { bytes: await playback.read({ ...sound, frames: timelineFrames }, from, frames), timelineFrames };
  }

  /** Makes a draft a version of its song: its file is in the store already. CodedError NOT_FOUND. */
  async keepAsVersion(
    id: string,
    wish: { readonly name?: string; readonly kind: VersionKind; readonly chainId?: string },
    songs: Songs,
  ): Promise<Version> {
    const { draft, file, report } = await this.#madeDraft(id);
    const source = await songs.getVersion(draft.versionId);
    const name = wish.name ?? nameFor(source.name, { report });
    const { versionId } = await this.#parts.store.transaction().execute(async (tx) => {
      const added = await addVersionIn(tx, { songId: source.songId, name, kind: wish.kind, file });
      await keepMaking(tx, {
        versionId: added.versionId,
        fromVersionId: source.id,
        chainId: wish.chainId ?? null,
        goals: { loudnessLufs: draft.targetLufs },
        report,
      });
      return added;
    });
    await this.#parts.arrived(versionId);
    this.#parts.events.emit('finish', source.id);
    return songs.getVersion(versionId);
  }

  async dropDraft(id: string): Promise<void> {
    const draft = await draftOf(this.#parts.store, id);
    if (!draft || !(await dropDraft(this.#parts.store, id))) throw noDraft();
    await this.#forgetFiles([draft]);
    this.#parts.events.emit('finish', draft.versionId);
  }

  async #madeDraft(id: string) {
    const draft = await draftOf(this.#parts.store, id);
    if (!draft?.made) throw noDraft();
    return { draft, ...draft.made, name: `the draft at ${withUnit(draft.targetLufs, 'LUFS')}` };
  }

  #fileOf({ sha256 }: Version): { path: string; sha256: string } {
    return { path: audioFilePath(this.#parts.home, sha256), sha256 };
  }
}

function noDraft(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such draft; it may have been replaced by a newer choice.');
}

/** 'Ferry Light (finished, −11.0 LUFS)'. */
function nameFor(source: string, { report }: Pick<Finished, 'report'>): string {
  const { integratedLufs } = report.made;
  const level = integratedLufs === null ? '' : `, ${withUnit(integratedLufs, 'LUFS')}`;
  return `${source.replace(/\.[a-z0-9]{2,5}$/i, '')} (finished${level})`;
}
