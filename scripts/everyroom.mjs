// What bin/everyroom runs: bootstrap, then the command line.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { root } from './lib/root.mjs';

// The pages are only needed by the commands that serve them (a shoot-out's folders and links hold the voters' page); the
// others run from few files, which starts sooner.
const whole = { serve: undefined, shootout: ['kernels', 'engine', 'voter'] };
const serves = Object.hasOwn(whole, process.argv[2] ?? '');
await bootstrap(serves ? whole[process.argv[2]] : ['kernels', 'program']);
await import(pathToFileURL(join(root, serves ? 'dist/src/cli/main.js' : 'dist/program/main.js')).href);
