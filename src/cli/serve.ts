import { startServer } from '../server/start.ts';
import { untilInterrupted } from './interrupt.ts';

/** `everyroom serve`: the page, until Ctrl-C. */
export async function serve(port: number): Promise<void> {
  const interrupt = untilInterrupted();
  const server = await startServer({ port });
  if (server.portWasTaken) process.stderr.write(`Port ${port} is in use; the next free one was taken.\n`);
  process.stdout.write(
    `Everyroom is open at ${server.url}\nIt listens to this machine only. Ctrl-C closes it; nothing is lost.\n`,
  );
  await new Promise((resolve) => interrupt.signal.addEventListener('abort', resolve));
  interrupt.release();
  await server.close();
}
