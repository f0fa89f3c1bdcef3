// Hash stamps: a build step is repeated only when its inputs changed since it last succeeded.
import { createHash } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { root } from './root.mjs';

/** All files below the given files and folders (relative to the project), sorted, without tests when asked. */
export function filesBelow(paths, keep = () => true) {
  const found = [];
  const visit = (path) => {
    const stat = statSync(path, { throwIfNoEntry: false });
    if (!stat) return;
    if (stat.isDirectory()) for (const name of readdirSync(path)) visit(join(path, name));
    else if (keep(relative(root, path))) found.push(path);
  };
  for (const path of paths) visit(join(root, path));
  return found.sort();
}

/** One hash over names and contents. */
export function hashFiles(files) {
  const hash = createHash('sha256').update(process.version);
  for (const file of files)
    hash.update(relative(root, file)).update('\0').update(readFileSync(file)).update('\0');
  return hash.digest('hex');
}

const stampFile = (name) => join(root, '.stamps', name);

export function isFresh(name, hash) {
  try {
    return readFileSync(stampFile(name), 'utf8') === hash;
  } catch {
    return false;
  }
}

export function stamp(name, hash) {
  mkdirSync(dirname(stampFile(name)), { recursive: true });
  writeFileSync(stampFile(name), hash);
}

/** Forget a stamp before its step starts, so that a step cut off in the middle is done again. */
export function unstamp(name) {
  rmSync(stampFile(name), { force: true });
}
