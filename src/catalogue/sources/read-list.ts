import { createReadStream } from 'node:fs';
import { dirname, resolve, sep } from 'node:path';
import { CsvError, parse } from 'csv-parse';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { displayName } from '../../bench/display-name.ts';
import { isAddress, sourceOfPath } from './source-text.ts';

/** Names of the column that holds the songs, in a list with a head. */
const columnNames = ['path', 'file', 'url', 'source', 'song'];
/** As UTF-8 files of some programs begin, read byte by byte. */
const byteOrderMark = '\u00ef\u00bb\u00bf';
const longestLineBytes = 64 * 1024;

/**
 * Songs of a list: CSV (RFC 4180) in UTF-8 or whatever the file names are in, a path or an http(s) address in its first column,
 * or in the one that is headed path, file, url, source or song. Paths that are not absolute begin at the list's folder. Empty
 * lines are passed over. It is read as a stream. Throws CodedError: LIST_INVALID, and as files do.
 */
export async function* readList(path: string): AsyncGenerator<string> {
  const folder = Buffer.from(`${dirname(resolve(path))}${sep}`);
  const file = createReadStream(path);
  const lines = parse({
    // Every byte one character: names that are no UTF-8 come through whole.
    encoding: 'latin1',
    relax_column_count: true,
    skip_empty_lines: true,
    max_record_size: longestLineBytes,
  });
  // A stream that breaks says so to the reader of the lines.
  file.on('error', (error) => lines.destroy(error));
  let column: number | null = null;
  try {
    for await (const cells of file.pipe(lines) as AsyncIterable<string[]>) {
      if (column === null) {
        if (cells[0].startsWith(byteOrderMark)) cells[0] = cells[0].slice(byteOrderMark.length);
        const head = cells.findIndex((cell) => columnNames.includes(trimmed(cell).toLowerCase()));
        column = Math.max(0, head);
        if (head >= 0) continue;
      }
      const cell = trimmed(cells[column] ?? '');
      if (cell) yield sourceOf(cell, folder);
    }
  } catch (error) {
    throw listError(error, path);
  } finally {
    file.destroy();
  }
}

/** Only of what is white in ASCII: in these strings a byte of a longer character may look like another space. */
const trimmed = (cell: string): string => cell.replace(/^[ \t]+|[ \t]+$/g, '');

function sourceOf(text: string, folder: Buffer): string {
  const cell = Buffer.from(text, 'latin1');
  if (isAddress(text)) return addressOf(cell.toString('utf8'));
  const isAbsolute = text.startsWith('/') || /^[A-Za-z]:[\\/]|^\\\\/.test(text);
  const whole = sourceOfPath(isAbsolute ? cell : Buffer.concat([folder, cell]));
  // '..' and the like are taken out where the path is text, so that one file has one name.
  return whole.startsWith('bytes:') ? whole : resolve(whole);
}

/** As a browser would write it; one that is none is told when its turn comes. */
function addressOf(text: string): string {
  try {
    return new URL(text).href;
  } catch {
    return text;
  }
}

function listError(error: unknown, path: string): unknown {
  if (!(error instanceof CsvError)) return fileError(error, path, 'read');
  return new CodedError(
    'LIST_INVALID',
    `“${displayName(path)}” is no list that can be read: ${error.message}. It wants a path or address a line, as CSV.`,
    { cause: error },
  );
}
