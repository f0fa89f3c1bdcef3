import { existsSync, readFileSync } from 'node:fs';

/** The version in the package's own package.json, found from here upward (source and build lie at different depths). */
export function version(): string {
  let folder = new URL('.', import.meta.url);
  while (!existsSync(new URL('package.json', folder))) {
    const parent = new URL('..', folder);
    if (parent.href === folder.href) return 'unknown';
    folder = parent;
  }
  const { version } = JSON.parse(readFileSync(new URL('package.json', folder), 'utf8')) as {
    version: string;
  };
  return version;
}
