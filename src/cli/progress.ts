import { printable } from './terminal/printable.ts';

/** Tells what is being done to one file, and the share of it that is done (0..1). */
export type Report = (stage: string, fraction: number) => void;

/** Work on one file; false says that it failed, in words that were kept elsewhere. */
export type Work = (file: string, report: Report) => Promise<boolean>;

/**
 * Works on all files, `atOnce` at a time, and shows it on stderr: a moving list on a terminal, elsewhere a line
 * when a file is begun, so that a log stays short.
 */
export async function workOn(
  files: readonly string[],
  work: Work,
  {
    atOnce,
    name,
    isTerminal,
    verb = 'checking',
  }: { atOnce: number; name(file: string): string; isTerminal: boolean; verb?: string },
): Promise<void> {
  if (isTerminal) return workInList(files, work, { atOnce, name });
  const waiting = files.entries();
  const workThrough = async (): Promise<void> => {
    for (const [i, file] of waiting) {
      process.stderr.write(
        `${verb} ${printable(name(file))}${files.length > 1 ? ` (${i + 1} of ${files.length})` : ''}\n`,
      );
      await work(file, () => {});
    }
  };
  await Promise.all(Array.from({ length: Math.min(atOnce, files.length) }, workThrough));
}

async function workInList(
  files: readonly string[],
  work: Work,
  { atOnce, name }: { atOnce: number; name(file: string): string },
): Promise<void> {
  const { DefaultRenderer, Listr, ListrLogger, ProcessOutput } = await import('listr2');
  // Drawn on stderr, so that it does not matter whether stdout, where the result goes, is a terminal.
  class ListOnStderr extends DefaultRenderer {
    static override nonTTY = true;
  }
  const list = new Listr(
    files.map((file) => {
      const title = printable(name(file));
      return {
        title,
        task: async (_context: unknown, task: { title: string | undefined }) => {
          const done = await work(file, (stage, fraction) => {
            task.title = `${title}  ${bar(fraction)} ${stage}`;
          });
          task.title = title;
          if (!done) throw new Error('could not be done');
        },
      };
    }),
    {
      concurrent: atOnce,
      exitOnError: false,
      registerSignalListeners: false,
      renderer: ListOnStderr,
      rendererOptions: {
        showErrorMessage: false,
        logger: new ListrLogger({ processOutput: new ProcessOutput(process.stderr, process.stderr) }),
      },
    },
  );
  await list.run();
}

const barWidth = 20;

function bar(fraction: number): string {
  const full = Math.round(Math.min(1, Math.max(0, fraction)) * barWidth);
  const percent = `${Math.floor(fraction * 100)}`.padStart(3);
  return `${'━'.repeat(full)}${'╌'.repeat(barWidth - full)} ${percent} %`;
}
