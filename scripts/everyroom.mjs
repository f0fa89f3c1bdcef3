// What bin/everyroom runs: bootstrap, then the command line.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { root } from './lib/root.mjs';

// The page is only needed by the command that serves it.
// A shoot-out's folders and links hold the page for voters.
const parts = { serve: undefined, shootout: ['kernels', 'engine', 'voter'] };
await bootstrap(process.argv[2] in parts ? parts[process.argv[2]] : ['kernels', 'engine']);
await import(pathToFileURL(join(root, 'dist/src/cli/main.js')).href);
