// The demo record is played by our own code, once, into the data folder; again only when that code changed.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { filesBelow, hashFiles } from './stamp.mjs';
import { say, step } from './step.mjs';

/** @param built imports a module of dist/ */
export async function makeDemo(built) {
  const { homePath } = await built('src/bench/home.js');
  const folder = join(homePath(), 'demo');
  const hash = hashFiles(filesBelow(['demo'], (path) => !path.endsWith('.test.ts')));
  const stampFile = join(folder, 'made-by');
  if (
    existsSync(join(folder, 'index.json')) &&
    existsSync(stampFile) &&
    readFileSync(stampFile, 'utf8') === hash
  )
    return;
  const { renderDemo } = await built('demo/render-demo.js');
  try {
    await step('playing the demo record (once)', (progress) => renderDemo(folder, { progress }));
    writeFileSync(stampFile, hash);
  } catch (error) {
    // The bench works without its demo; a full disk must not keep anyone out.
    say(`the demo record could not be made: ${error.message}`);
  }
}
