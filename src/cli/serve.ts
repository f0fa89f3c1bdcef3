import { startServer } from '../server/start.ts';

/** `everyroom serve`: starts the page. The server itself ends on Ctrl-C, and with it the process. */
export async function serve(port: number): Promise<void> {
  const server = await startServer({ port, getReady: true });
  if (server.portWasTaken) process.stderr.write(`Port ${port} is in use; the next free one was taken.\n`);
  process.stdout.write(
    `Everyroom is open at ${server.url}\nIt listens to this machine only. Ctrl-C closes it; nothing is lost.\n`,
  );
}
