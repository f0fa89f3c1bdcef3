import { realpath, stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { openHome } from '../../bench/home.ts';
import { openStore } from '../../bench/store/database.ts';
import { WatchStore } from '../../bench/store/watch.ts';
import { watchFolder } from '../../bench/watch/watched-folders.ts';
import { type ExitCode, exitCodes } from '../exit-codes.ts';
import { printable } from '../terminal/printable.ts';

/** `everyroom watch add|list|remove`: a running server hears of it within seconds. */
export async function watch(action: 'add' | 'list' | 'remove', folder = ''): Promise<ExitCode> {
  const home = await openHome();
  const store = openStore(home.databasePath);
  const kept = new WatchStore(store);
  const say = (text: string): void => void process.stdout.write(`${printable(text)}\n`);
  try {
    if (action === 'add')
      say(`Watched from now on, whenever Everyroom runs: ${await watchFolder(store, home, resolve(folder))}`);
    else if (action === 'remove') {
      const wanted = [resolve(folder), await realpath(folder).catch(() => null)];
      const found = (await kept.folders()).find(({ path }) => wanted.includes(path));
      if (!found) throw new CodedError('NOT_FOUND', `“${folder}” is not watched.`);
      await kept.remove(found.id);
      say(`Not watched any more: ${found.path}`);
    } else {
      const folders = await kept.folders();
      if (folders.length === 0) say('No folder is watched; “everyroom watch add DIR” adds one.');
      for (const { path } of folders) {
        const there = await stat(path).catch(() => null);
        say(there?.isDirectory() ? path : `${path} (not there now)`);
      }
    }
    return exitCodes.nothingToMend;
  } finally {
    await store.destroy();
  }
}
