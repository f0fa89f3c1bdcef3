import { readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import type { Home } from './home.ts';
import { storageError } from './storage-error.ts';

const fileIn = (home: Home): string => join(home.path, 'server.json');
const announcement = z.object({ url: z.url({ protocol: /^http$/ }) });
const health = z.object({ name: z.literal('Everyroom') });

/** Leaves word in the data folder of where its server listens, for the command line. */
export async function announceServer(home: Home, url: string): Promise<void> {
  try {
    await writeFile(fileIn(home), `${JSON.stringify({ url })}\n`, { mode: 0o600 });
  } catch (error) {
    throw storageError(error, `The data folder ${home.path}`);
  }
}

export async function withdrawServer(home: Home): Promise<void> {
  await rm(fileIn(home), { force: true });
}

/** Where the server of the data folder answers; null when none does (a killed one leaves its word behind). */
export async function findServer(home: Home): Promise<string | null> {
  try {
    const { url } = announcement.parse(JSON.parse(await readFile(fileIn(home), 'utf8')));
    const answer = await fetch(`${url}/api/health`, { signal: AbortSignal.timeout(3000) });
    health.parse(await answer.json());
    return url;
  } catch {
    return null;
  }
}
