// npm start: install, build, make the demo record once, start the server, open the page.

import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { makeDemo } from './lib/demo.mjs';
import { openBrowser } from './lib/open-browser.mjs';
import { root } from './lib/root.mjs';
import { say } from './lib/step.mjs';

const usage = `npm start [-- --no-open] [-- --port N]

Builds what changed, makes the demo record the first time, and starts Everyroom on this machine.
  --no-open   do not open the browser
  --no-demo   do not make the demo record
  --port N    port to listen on (default 4870; the next free one is taken when it is in use)

EVERYROOM_HOME   where songs and results are kept
`;

const args = process.argv.slice(2);
const known = new Set(['--no-open', '--no-demo', '--port', '--help', '-h']);
const portAt = args.indexOf('--port');
const unknown = args.filter((arg, i) => !known.has(arg) && !(portAt >= 0 && i === portAt + 1));
const port = portAt >= 0 ? Number(args[portAt + 1]) : 4870;
if (args.includes('--help') || args.includes('-h')) {
  process.stdout.write(usage);
  process.exit(0);
}
if (unknown.length > 0 || !Number.isInteger(port) || port < 0 || port > 65535) {
  say(
    `${unknown.length > 0 ? `unknown option ${unknown[0]}` : '--port wants a number from 0 to 65535'}\n\n${usage}`,
  );
  process.exit(1);
}

await bootstrap();
const built = (path) => import(pathToFileURL(join(root, 'dist', path)).href);
if (!args.includes('--no-demo')) await makeDemo(built);
const { startServer } = await built('src/server/start.js');
try {
  const server = await startServer({ port, getReady: true });
  if (server.portWasTaken) say(`port ${port} is in use; the next free one was taken`);
  process.stdout.write(
    `\nEveryroom is open at ${server.url}\nIt listens to this machine only. Ctrl-C closes it; nothing is lost.\n`,
  );
  if (!args.includes('--no-open')) openBrowser(server.url);
} catch (error) {
  say(error.code && error.message ? `${error.message} (${error.code})` : error.stack);
  process.exit(1);
}
