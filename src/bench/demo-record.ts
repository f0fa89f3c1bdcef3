import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { CodedError } from '../audio/coded-error.ts';
import { keepCopy } from './audio-store.ts';
import type { Home } from './home.ts';
import type { Songs } from './store/songs.ts';

// A plain file name, as people read it: the index lies beside its files, and nothing in it may lead elsewhere.
const fileName = z.string().regex(/^[^./\\\0][^/\\\0]*$/);
const indexSchema = z.object({
  songs: z.array(
    z.object({
      id: z.string(),
      title: z.string(),
      versions: z.array(z.object({ name: z.string(), kind: z.enum(['mix', 'master']), file: fileName })),
    }),
  ),
  references: z.array(z.object({ title: z.string(), artist: z.string(), file: fileName })),
});
type DemoIndex = z.infer<typeof indexSchema>;

interface DemoSong {
  readonly demoId: string;
  readonly title: string;
  readonly versions: readonly { name: string; kind: 'mix' | 'master' | 'reference'; file: string }[];
}

const indexPath = (home: Home): string => join(home.demoPath, 'index.json');

/** Whether the demo record has been rendered. */
export async function demoAvailable(home: Home): Promise<boolean> {
  return stat(indexPath(home)).then(
    (found) => found.isFile(),
    () => false,
  );
}

/**
 * Puts the demo record on the bench and returns the ids of its songs, references last. Songs that are there stay as
 * they are, a deleted one comes back. Nothing is checked yet: that is for the person to ask.
 * CodedError NOT_FOUND when it has not been rendered.
 */
export async function putDemoOnBench(home: Home, songs: Songs): Promise<string[]> {
  const ids: string[] = [];
  // Last first: the list shows what changed last on top, so the record ends up in its own order.
  for (const song of songsOf(await readIndex(home)).reverse()) {
    const there = await songs.findDemo(song.demoId);
    if (there?.deleted_at) await songs.restore(there.id);
    ids.unshift(there?.id ?? (await addSong(home, songs, song)));
  }
  return ids;
}

async function addSong(home: Home, songs: Songs, song: DemoSong): Promise<string> {
  const versions = [];
  for (const { name, kind, file } of song.versions)
    versions.push({ name, kind, file: await keepCopy(home, join(home.demoPath, file)) });
  return (await songs.add(song.title, versions, song.demoId)).songId;
}

function songsOf(index: DemoIndex): DemoSong[] {
  return [
    ...index.songs.map(({ id, title, versions }) => ({ demoId: `song:${id}`, title, versions })),
    ...index.references.map(({ title, artist, file }) => ({
      demoId: `reference:${file}`,
      title: `${title} (${artist})`,
      versions: [{ name: title, kind: 'reference' as const, file }],
    })),
  ];
}

async function readIndex(home: Home): Promise<DemoIndex> {
  const text = await readFile(indexPath(home), 'utf8').catch(() => {
    throw new CodedError('NOT_FOUND', 'The demo record has not been made yet. npm start makes it.');
  });
  return indexSchema.parse(JSON.parse(text));
}
