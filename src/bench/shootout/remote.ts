import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { VoterFolder } from '../../shootout/voter-shapes.ts';
import { voterFolderSchema } from '../../shootout/voter-shapes.ts';
import type { Home } from '../home.ts';
import { randomLetters } from '../ids.ts';
import { carriedPage, type SinglePage } from '../single-page.ts';
import { copyInto, writeText } from '../whole-folder.ts';

import type { VotingBooth } from './voting-booth.ts';

const readMe = `Open vote.html in a browser (double-click). Use headphones, and a level at which you like to listen.
Nothing is sent anywhere: at the end the page gives you one small file. Send that back to whoever sent you this folder.
`;

/**
 * Fills a folder for a listener far away: the page with all its rounds in it, and the sounds under names of chance that belong to
 * this folder alone.
 */
export async function fillRemote(
  path: string,
  home: Home,
  booth: VotingBooth,
  folder: string,
  page: SinglePage,
): Promise<void> {
  const { voter, key, rounds, cuts, seconds } = await booth.folderRounds(folder);
  const names = new Map([...new Set(cuts.values())].map((cut) => [cut, `sounds/${randomLetters()}.wav`]));
  await mkdir(join(path, 'sounds'));
  for (const [cut, name] of names)
    await copyInto(join(home.shootoutsPath, voter.shootoutId, cut), join(path, name));
  const data: VoterFolder = voterFolderSchema.parse({
    format: 'everyroom-folder/1',
    folder,
    kind: voter.kind,
    question: voter.question,
    seconds,
    rounds,
    files: Object.fromEntries([...cuts].map(([handle, cut]) => [handle, names.get(cut)])),
    key,
  });
  const told = { id: 'everyroom-round', type: 'application/json', text: JSON.stringify(data) } as const;
  // From disk, 'self' is not what lies beside the page in every browser.
  const html = carriedPage(page, [told], ["media-src 'self' file: blob:"]);
  await writeText(join(path, 'vote.html'), html);
  await writeText(join(path, 'READ ME.txt'), readMe);
}
