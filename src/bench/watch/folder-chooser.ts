import { readdir, realpath, stat } from 'node:fs/promises';
import { isAbsolute, join, relative, sep } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { newId } from '../ids.ts';

export interface ChoosableFolder {
  /** Stands for the folder in requests; good until the server ends. */
  readonly token: string;
  readonly name: string;
  readonly path: string;
}

const mostFolders = 1000;

/**
 * The folders that may be chosen on the page: those below the user's home, hidden ones left out, symlinks followed only
 * where they lead below it too. A request names a folder by a token handed out here, never by a path.
 */
export class FolderChooser {
  readonly #root: string;
  readonly #without: string;
  readonly #paths = new Map<string, string>();
  readonly #tokens = new Map<string, string>();

  /**
   * @param root the user's home
   * @param without a folder that is not offered, nor what is in it: the application's own
   */
  constructor(root: string, without: string) {
    this.#root = root;
    this.#without = without;
  }

  /** The folders in one that was offered, or in the user's home. CodedError NOT_FOUND for a token that was never given. */
  async inside(token?: string): Promise<ChoosableFolder[]> {
    const folder = token === undefined ? await realpath(this.#root) : await this.resolve(token);
    const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
    const found: ChoosableFolder[] = [];
    for (const entry of entries) {
      if (!entry.isDirectory() && !entry.isSymbolicLink()) continue;
      const path = await this.#allowed(join(folder, entry.name));
      if (path !== null) found.push({ token: this.#tokenOf(path), name: entry.name, path });
    }
    return found.sort((a, b) => a.name.localeCompare(b.name, 'en', { numeric: true })).slice(0, mostFolders);
  }

  /** The path behind a token, still allowed now. CodedError NOT_FOUND. */
  async resolve(token: string): Promise<string> {
    const known = this.#paths.get(token);
    const path = known === undefined ? null : await this.#allowed(known);
    if (path === null || path !== known) throw new CodedError('NOT_FOUND', 'There is no such folder.');
    return path;
  }

  /** Where it really lies, when that is a folder that may be chosen. */
  async #allowed(path: string): Promise<string | null> {
    try {
      const real = await realpath(path);
      if (!(await stat(real)).isDirectory()) return null;
      const below = relative(await realpath(this.#root), real);
      const outside = below === '' || isAbsolute(below) || below.split(sep)[0] === '..';
      const hidden = below.split(sep).some((part) => part.startsWith('.'));
      const own = await realpath(this.#without);
      return outside || hidden || real === own || real.startsWith(own + sep) ? null : real;
    } catch {
      // Gone, or not for this user: then it is not offered.
      return null;
    }
  }

  #tokenOf(path: string): string {
    let token = this.#tokens.get(path);
    if (token === undefined) {
      token = newId();
      this.#tokens.set(path, token);
      this.#paths.set(token, path);
    }
    return token;
  }
}
