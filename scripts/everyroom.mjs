// What bin/everyroom runs: bootstrap, then the command line.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { root } from './lib/root.mjs';

// The page is only needed by the command that serves it; the others run from few files, which starts sooner.
const serving = process.argv[2] === 'serve';
await bootstrap(serving ? undefined : ['kernels', 'program']);
await import(pathToFileURL(join(root, serving ? 'dist/src/cli/main.js' : 'dist/program/main.js')).href);
