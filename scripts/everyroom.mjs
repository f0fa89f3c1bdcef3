// What bin/everyroom runs: bootstrap, then the command line.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { root } from './lib/root.mjs';

// The page is only needed by the command that serves it.
await bootstrap(process.argv[2] === 'serve' ? undefined : ['kernels', 'engine']);
await import(pathToFileURL(join(root, 'dist/src/cli/main.js')).href);
