import { displayName } from '../../bench/display-name.ts';

/**
 * Where a song comes from, as one text: an absolute path; an http(s) address; or, for a path that is no UTF-8, its bytes,
 * each that is not plain ASCII as %XX, behind 'bytes:'. A text of the last kind is no path, so nothing can be mistaken.
 */
const bytesMark = 'bytes:';

export function sourceOfPath(path: Buffer): string {
  const text = path.toString('utf8');
  if (Buffer.from(text, 'utf8').equals(path)) return text;
  return (
    bytesMark +
    Array.from(path, (byte) =>
      byte > 32 && byte < 127 && byte !== 37
        ? String.fromCharCode(byte)
        : `%${byte.toString(16).padStart(2, '0').toUpperCase()}`,
    ).join('')
  );
}

export const isAddress = (source: string): boolean => /^https?:\/\//i.test(source);

/** The path as the file system takes it; what is no UTF-8 only goes as bytes. */
export function pathOf(source: string): string | Buffer {
  if (!source.startsWith(bytesMark)) return source;
  return Buffer.from(
    source
      .slice(bytesMark.length)
      .replace(/%([0-9A-F]{2})/g, (_all, hex: string) => String.fromCharCode(Number.parseInt(hex, 16))),
    'latin1',
  );
}

/** What a person calls it: the last part, fit to be shown. */
export function sourceName(source: string): string {
  if (!isAddress(source)) return displayName(pathOf(source).toString('utf8'));
  try {
    const { pathname, hostname } = new URL(source);
    return displayName(decodeURIComponent(pathname.replace(/\/+$/, '')) || hostname);
  } catch {
    // No address, or %XX that is no text: shown as it was written.
    return displayName(source);
  }
}
