import { chmod, mkdir, readdir, rm } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join, resolve } from 'node:path';
import { storageError } from './storage-error.ts';

/** Where everything of one user is kept. The folder belongs to that user alone (mode 0700). */
export interface Home {
  readonly path: string;
  /** The SQLite file. */
  readonly databasePath: string;
  /** Sound files, each once, by the SHA-256 of their bytes: audio/ab/abcd... */
  readonly audioPath: string;
  /** Uploads on their way in, under random names; same disk as `audioPath`, so that a rename is enough. */
  readonly incomingPath: string;
  /** Passages after lossy coding, kept to be heard again; whatever lies here can be made anew. */
  readonly excerptsPath: string;
  /** Sound made ready for the desk; whatever lies here can be made anew. */
  readonly playbackPath: string;
  /** Fair cuts of shoot-outs, a folder each; needed as long as people vote. */
  readonly shootoutsPath: string;
  /** Excerpts that walks are heard with, a folder each; whatever lies here can be made anew. */
  readonly walksPath: string;
  /** Where the demo record is rendered to. */
  readonly demoPath: string;
}

/** The data folder: EVERYROOM_HOME, or else the platform's usual place for a user's application data. */
export function homePath(
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: NodeJS.Platform = process.platform,
  userHome: string = homedir(),
): string {
  if (env.EVERYROOM_HOME) return resolve(env.EVERYROOM_HOME);
  if (platform === 'darwin') return join(userHome, 'Library', 'Application Support', 'Everyroom');
  if (platform === 'win32') return join(env.LOCALAPPDATA || join(userHome, 'AppData', 'Local'), 'Everyroom');
  return join(env.XDG_DATA_HOME || join(userHome, '.local', 'share'), 'everyroom');
}

/** Makes the folders that are missing. Throws CodedError (STORAGE_FAILED, DISK_FULL, FILE_NO_PERMISSION). */
export async function openHome(path: string = homePath()): Promise<Home> {
  const home: Home = {
    path,
    databasePath: join(path, 'everyroom.db'),
    audioPath: join(path, 'audio'),
    incomingPath: join(path, 'incoming'),
    excerptsPath: join(path, 'excerpts'),
    playbackPath: join(path, 'playback'),
    shootoutsPath: join(path, 'shootouts'),
    walksPath: join(path, 'walks'),
    demoPath: join(path, 'demo'),
  };
  try {
    await mkdir(path, { recursive: true, mode: 0o700 });
    // mkdir leaves the mode of a folder that was there alone; unreleased music is nobody else's business.
    await chmod(path, 0o700);
    const { audioPath, incomingPath, excerptsPath, playbackPath, shootoutsPath, walksPath } = home;
    for (const folder of [audioPath, incomingPath, excerptsPath, playbackPath, shootoutsPath, walksPath])
      await mkdir(folder, { recursive: true, mode: 0o700 });
  } catch (error) {
    throw storageError(error, `The data folder ${path}`);
  }
  return home;
}

/** Removes what broken-off uploads left behind. Only for the one process that owns the folder. */
export async function clearIncoming(home: Home): Promise<void> {
  for (const name of await readdir(home.incomingPath))
    await rm(join(home.incomingPath, name), { recursive: true, force: true });
}
