import { setMaxListeners } from 'node:events';
import { CodedError } from '../audio/coded-error.ts';
import type { TaskAnswer, TaskMessage } from './task-message.ts';
import { loadTask } from './tasks/registry.ts';

/** Smallest rise of progress worth a message between threads. */
const progressStep = 0.01;
/** Milliseconds between two looks at whether the result is still wanted, where no progress is told. */
const lookEvery = 50;

/** Entry of a worker thread: runs one task. It stops by itself when it is told to; where it cannot, the pool ends the thread. */
export default async function runTask({
  task: name,
  input,
  lane,
  scratchPath,
  stop,
  port,
}: TaskMessage): Promise<TaskAnswer> {
  // A thread has its own copy of the environment: whatever writes temporary files writes them where they get removed.
  for (const variable of ['TMPDIR', 'TEMP', 'TMP']) process.env[variable] = scratchPath;
  // The first message starts the clock of the time limit.
  port.postMessage(0);
  let told = 0;
  const stopping = new AbortController();
  // Every step of a long work may listen for a while.
  setMaxListeners(0, stopping.signal);
  // In shared memory, because a codec that runs in this thread lets no message through.
  const look = (): void => {
    if (Atomics.load(stop, 0) !== 0)
      stopping.abort(new CodedError('JOB_CANCELLED', 'The work was cancelled.'));
  };
  const looking = setInterval(look, lookEvery);
  const progress = (fraction: number): void => {
    look();
    if (fraction < told + progressStep && fraction < 1) return;
    told = fraction;
    port.postMessage(fraction);
  };
  try {
    const task = await loadTask(name);
    const work = lane === null ? task.run : task.lanes?.run[lane];
    if (!work) throw new Error(`'${name}' has no lane ${lane}`);
    return { ok: true, output: await work(input as never, { progress, signal: stopping.signal }) };
  } catch (error) {
    const { message, stack } = error instanceof Error ? error : new Error(String(error));
    if (error instanceof CodedError) return { ok: false, code: error.code, message, stack };
    return {
      ok: false,
      code: 'INTERNAL',
      message: `A fault in Everyroom itself, in '${name}': ${message}`,
      stack,
    };
  } finally {
    clearInterval(looking);
    port.close();
  }
}
