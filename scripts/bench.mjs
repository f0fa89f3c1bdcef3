// npm run bench: speed as ratios against outside tools in the same run, never as bare seconds.
// `npm run bench -- check loudness` runs only those of bench/.
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bootstrap } from './lib/bootstrap.mjs';
import { outsidePrograms } from './lib/debian.mjs';
import { root } from './lib/root.mjs';
import { say } from './lib/step.mjs';

await bootstrap(['kernels', 'engine', 'program']);
await outsidePrograms({ browserFound: true });

const all = readdirSync(join(root, 'bench'))
  .filter((file) => file.endsWith('.mjs'))
  .map((file) => file.slice(0, -4));
const wanted = process.argv.length > 2 ? process.argv.slice(2) : all;
for (const name of wanted) {
  if (!all.includes(name)) {
    say(`there is no bench called ${name}; there are ${all.join(', ')}`);
    process.exitCode = 1;
    continue;
  }
  const { bench } = await import(pathToFileURL(join(root, 'bench', `${name}.mjs`)).href);
  await bench();
}
