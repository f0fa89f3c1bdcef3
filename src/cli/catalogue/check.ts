import { resolve } from 'node:path';
import { ownEngine } from '../../catalogue/engine.ts';
import type { Run } from '../../catalogue/store/runs.ts';
import { listSongs, songSources } from '../../catalogue/work/list-songs.ts';
import { thousands } from '../../judge/amounts.ts';
import type { Facts } from '../../judge/facts.ts';
import { type ProfileId, usualProfileId } from '../../judge/profiles.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { complain } from '../terminal/complain.ts';
import { comparisonText, printed, runText } from './looking.ts';
import { findRun, openCatalogue, type WorkerChoice, withWorker } from './open.ts';
import { RunProgress } from './progress.ts';

export interface CatalogueCheck extends WorkerChoice {
  /** null: the usual one of the kind. */
  readonly profile: ProfileId | null;
  readonly kind: Facts['kind'];
  readonly lossy: boolean;
  readonly changedSinceMs: number | null;
  /** The run to hold the result against; null: none. */
  readonly compareWith: string | null;
  readonly json: boolean;
}

/** `everyroom catalogue check`: lists, has the list worked on, prints where it ended. */
export async function checkCatalogue(what: string, command: CatalogueCheck): Promise<ExitCode> {
  const progress = new RunProgress();
  const sources = await songSources(what, {
    changedSinceMs: command.changedSinceMs,
    onUnread: (path) => progress.say(`The folder ${path} could not be read and was passed over.`),
  });
  const interrupt = untilInterrupted();
  const catalogue = await openCatalogue(progress.onDatabase);
  try {
    // Found before the work: a wrong id must not be told after a night of it.
    const before = command.compareWith === null ? null : await findRun(catalogue, command.compareWith);
    const run = await withWorker(catalogue, command, async (worker) => {
      const engine = ownEngine();
      const id = await catalogue.runs.start({
        what: resolve(what),
        profile: command.profile ?? usualProfileId(command.kind),
        kind: command.kind,
        lossy: command.lossy,
        engine,
        listedBy: worker.id,
      });
      const drain = (): void => {
        progress.say('Stopping: the songs in hand are finished first. Ctrl-C again ends at once.');
        worker.drain();
      };
      interrupt.signal.addEventListener('abort', drain);
      let isListing = true;
      progress.watch(catalogue, id, () => isListing);
      const listing = listSongs(catalogue, { id, engine }, sources, interrupt.signal).then(
        ({ listed, repeats, whole }) => {
          isListing = false;
          if (whole)
            progress.say(
              `${thousands(listed)} songs found${repeats > 0 ? `, ${thousands(repeats)} of them named twice` : ''}.`,
            );
        },
        async (error: unknown) => {
          worker.drain();
          await catalogue.runs.stop(id).catch(() => {});
          throw error;
        },
      );
      const isOver = async () => (await catalogue.patiently(() => catalogue.runs.get(id))).endedMs !== null;
      const [listed, worked] = await Promise.allSettled([listing, worker.run(isOver)]);
      progress.end();
      if (listed.status === 'rejected') throw listed.reason;
      if (worked.status === 'rejected') throw worked.reason;
      return catalogue.runs.get(id);
    });
    if (run.endedMs === null) {
      process.stderr.write(
        `Stopped. Run ${run.id} is not finished; “everyroom catalogue work” goes on with what is listed, and the same check again lists the rest.\n`,
      );
      return exitCodes.interrupted;
    }
    return await print(catalogue, run, before, command.json);
  } catch (error) {
    progress.end();
    complain(catalogue.explain(error));
    return exitCodes.failed;
  } finally {
    interrupt.release();
    await catalogue.close();
  }
}

async function print(
  catalogue: Awaited<ReturnType<typeof openCatalogue>>,
  run: Run,
  before: Run | null,
  json: boolean,
): Promise<ExitCode> {
  const shown = await printed(catalogue, run);
  const comparison = before && (await catalogue.looking.compare(before, run));
  if (json) process.stdout.write(`${JSON.stringify({ ...shown, comparison }, null, 2)}\n`);
  else {
    process.stdout.write(runText(shown));
    if (before && comparison) process.stdout.write(`\n${comparisonText(comparison, before, run)}`);
  }
  if (shown.counts.failed > 0) return exitCodes.failed;
  return shown.counts.mend > 0 ? exitCodes.somethingToMend : exitCodes.nothingToMend;
}
