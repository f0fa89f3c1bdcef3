import { ownEngine } from '../../catalogue/engine.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { untilInterrupted } from '../interrupt.ts';
import { complain } from '../terminal/complain.ts';
import { openCatalogue, type WorkerChoice, withWorker } from './open.ts';
import { RunProgress } from './progress.ts';

export interface CatalogueWork extends WorkerChoice {
  /** Ends when nothing waits; otherwise it works until it is stopped. */
  readonly untilDone: boolean;
}

/** `everyroom catalogue work`: takes songs from the queue until it is stopped. */
export async function workOnCatalogue(command: CatalogueWork): Promise<ExitCode> {
  const progress = new RunProgress();
  const interrupt = untilInterrupted();
  const catalogue = await openCatalogue(progress.onDatabase);
  try {
    await withWorker(catalogue, command, async (worker) => {
      interrupt.signal.addEventListener('abort', () => {
        progress.say('Stopping: the songs in hand are finished first. Once more ends at once.');
        worker.drain();
      });
      const engine = ownEngine();
      progress.say(
        `Working for ${catalogue.kind === 'postgres' ? 'the database' : 'this machine'}, engine ${engine}. Ctrl-C stops; nothing is lost.`,
      );
      const open = () => catalogue.patiently(() => catalogue.runs.unfinished(engine));
      const { others } = await open();
      if (others > 0)
        progress.say(
          `${others} unfinished runs were begun by another release of Everyroom; only workers of that release take their songs.`,
        );
      await worker.run(async () => command.untilDone && (await open()).own === 0);
    });
    progress.say('Nothing is in hand any more.');
    return exitCodes.nothingToMend;
  } catch (error) {
    complain(catalogue.explain(error));
    return exitCodes.failed;
  } finally {
    progress.end();
    interrupt.release();
    await catalogue.close();
  }
}
