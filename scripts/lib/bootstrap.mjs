// From a fresh clone to something that runs: install what the lock file names, build what changed.
// Node built-ins only, since this is what runs before anything is installed.
import './node-version.mjs';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { build } from '../build.mjs';
import { withLock } from './lock.mjs';
import { root } from './root.mjs';
import { filesBelow, hashFiles, isFresh, stamp, unstamp } from './stamp.mjs';
import { run, say, step } from './step.mjs';

/** Installs the pinned packages where the lock file changed since the last time. */
async function install() {
  const hash = hashFiles(filesBelow(['package.json', 'package-lock.json']));
  if (isFresh('install', hash) && existsSync(join(root, 'node_modules/.package-lock.json'))) return;
  unstamp('install');
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  await step('installing packages (once)', () =>
    run(npm, ['ci', '--include=dev', '--no-audit', '--no-fund'], { shell: process.platform === 'win32' }),
  );
  stamp('install', hash);
}

/** Installs and builds; on failure prints what the failing program said and ends the process. */
export async function bootstrap(parts) {
  try {
    await withLock(async () => {
      await install();
      await build(parts);
    });
  } catch (error) {
    say(error.output ? `${error.output.trim()}\n\n${error.message}` : (error.stack ?? String(error)));
    process.exit(1);
  }
}
