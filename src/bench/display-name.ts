/** Longest name kept, in characters. */
const longest = 200;

/**
 * A client's file name made fit to be shown: the part after the last slash or backslash, without control and
 * direction-changing characters, in one line, at most 200 characters. Only ever shown; no path is made of it.
 */
export function displayName(given: string): string {
  const last = given.split(/[/\\]/).findLast((part) => part.trim() !== '') ?? '';
  const clean = last
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]/gu, '')
    .replace(/\s+/gu, ' ')
    .trim();
  return [...clean].slice(0, longest).join('').trim() || 'unnamed';
}

/** A song title out of a file name: without its ending. */
export function titleOf(name: string): string {
  return name.replace(/\.[A-Za-z0-9]{1,5}$/, '').trim() || name;
}
