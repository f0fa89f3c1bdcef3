// One bootstrap at a time: two commands started together on a fresh clone must not install over each other.
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { root } from './root.mjs';
import { say } from './step.mjs';

const lockFile = join(root, '.stamps', 'lock');

const isAlive = (pid) => {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
};

/** Runs `work` while holding the project's lock; waits for another live holder, takes over a dead one's. */
export async function withLock(work) {
  mkdirSync(join(root, '.stamps'), { recursive: true });
  for (let told = false; ; ) {
    try {
      writeFileSync(lockFile, String(process.pid), { flag: 'wx' });
      break;
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
      const holder = Number(readHolder());
      if (holder && !isAlive(holder)) rmSync(lockFile, { force: true });
      else {
        if (!told) say(`waiting for another Everyroom command (process ${holder || '?'}) to finish building`);
        told = true;
        await wait(300);
      }
    }
  }
  try {
    return await work();
  } finally {
    rmSync(lockFile, { force: true });
  }
}

function readHolder() {
  try {
    return readFileSync(lockFile, 'utf8');
  } catch {
    return '';
  }
}
