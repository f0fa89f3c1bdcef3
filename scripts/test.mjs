// npm test: everything that must hold, from a fresh clone. `npm test -- unit browser` runs only those test projects.
import { readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { bootstrap } from './lib/bootstrap.mjs';
import { browserAdvice, findBrowser } from './lib/browser.mjs';
import { outsidePrograms } from './lib/debian.mjs';
import { houseRules } from './lib/house-rules.mjs';
import { root } from './lib/root.mjs';
import { run, say, step } from './lib/step.mjs';

const projects = process.argv.slice(2);
const node = (tool, ...args) => run(process.execPath, [join(root, 'node_modules', tool), ...args]);

const checks = [
  ['lint and format (biome)', () => node('@biomejs/biome/bin/biome', 'ci', '--error-on-warnings', '.')],
  ['types of the engine and tests', () => node('typescript/bin/tsc', '-p', '.')],
  ['types of the page', () => node('typescript/bin/tsc', '-p', 'web')],
  [
    'floors of the house (dependency-cruiser)',
    () => node('dependency-cruiser/bin/dependency-cruise.mjs', 'src', 'web', 'demo', 'test', 'bench'),
  ],
  ['dead code (knip)', () => node('knip/bin/knip.js', '--no-progress')],
  ['words and sizes of the house', houseRules],
];

await bootstrap();
let failures = 0;
try {
  await outsidePrograms({ browserFound: findBrowser() !== null });
} catch (error) {
  // Without them their tests are left out with a line; that is no reason to leave out the others.
  say(`${error.output ?? ''}\n${error.message}`);
}
if (!findBrowser()) say(browserAdvice);

// Two at a time: each of them keeps one core busy.
const waiting = [...checks];
async function check() {
  for (let next = waiting.shift(); next; next = waiting.shift())
    await step(...next).catch((error) => {
      failures++;
      say(`${(error.output ?? error.message).trim()}\n`);
    });
}
await Promise.all([check(), check()]);

const resultFile = join(root, 'dist/test-results.json');
rmSync(resultFile, { force: true });
say('… tests');
await node2vitest().catch((error) => {
  failures++;
  say(error.message);
});

function node2vitest() {
  return run(
    process.execPath,
    [
      join(root, 'node_modules/vitest/vitest.mjs'),
      'run',
      ...projects.flatMap((project) => ['--project', project]),
      '--reporter=default',
      '--reporter=json',
      `--outputFile.json=${resultFile}`,
    ],
    { show: true },
  );
}

try {
  const { numPassedTests, numFailedTests, numPendingTests } = JSON.parse(readFileSync(resultFile, 'utf8'));
  process.stdout.write(
    `\ntests: ${numPassedTests} passed, ${numFailedTests} failed, ${numPendingTests} skipped\n`,
  );
  if (numPassedTests === 0) failures++;
} catch {
  failures++;
  say('the test runner left no result');
}
if (failures > 0) {
  say(`npm test failed: ${failures} of its steps did`);
  process.exitCode = 1;
}
