import { extname } from 'node:path';
import type { VersionKind } from '../shapes.ts';

/** Endings of the files that can be read here; others in a watched folder are nobody's business. */
const endings = new Set(
  'wav wave bwf rf64 aif aiff aifc flac m4a mp4 mp3 aac ogg oga opus'
    .split(' ')
    .map((ending) => `.${ending}`),
);

export function isSoundName(name: string): boolean {
  return !name.startsWith('.') && endings.has(extname(name).toLowerCase());
}

/** Words that tell versions of a song apart, not songs (heuristic; English, as most programs name their exports). */
const versionWords = new Set(
  (
    'mix mixes mixdown mixed master masters mastered mastering premaster bounce bounced bounces export exported render ' +
    'rendered print final finals finished done new old latest last rough draft version ver vers v take tk alt rev revision ' +
    'update updated fix fixed fixes copy stereo wav aif aiff flac mp3 bit bits khz hz dither dithered test limited loud ' +
    'louder quieter of the a'
  ).split(' '),
);
const numberedWord =
  /^(mix|master|premaster|bounce|version|ver|v|take|tk|t|rev|r|m|alt|rough|final|copy|draft|print|fix)\d+[a-z]?$/;
const format = /^\d+(bit|khz|k|hz)$/;
const dates = /\b(19|20)\d{2}[-_. ]?\d{2}[-_. ]?\d{2}\b|\b\d{1,2}[-_.]\d{1,2}[-_.]\d{2,4}\b/g;
const times = /\b\d{1,2}[h:]\d{2}\b/g;

/**
 * What is left of a file name or a title when everything that tells versions apart is taken away: two names with the same key
 * may be of one song. Heuristic. Never empty: a song called “Final Mix 2” is left its name.
 */
export function songKey(name: string): string {
  const stem = isSoundName(name) ? name.slice(0, -extname(name).length) : name;
  const plain = stem
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/(?<=\p{Ll})(?=\p{Lu})/gu, ' ')
    .toLowerCase()
    .replaceAll('_', ' ');
  const words = (text: string) => text.split(/[^\p{L}\p{N}]+/u).filter((word) => word !== '');
  const all = words(plain);
  const kept = words(plain.replace(dates, ' ').replace(times, ' ')).filter(
    (word) => !versionWords.has(word) && !numberedWord.test(word) && !format.test(word),
  );
  // Track numbers stand before, numbers of versions after.
  while (kept.length > 1 && /^\d{1,3}$/.test(kept[0])) kept.shift();
  while (kept.length > 1 && /^\d+$/.test(kept[kept.length - 1])) kept.pop();
  // A number alone tells no song, unless it is all there ever was, or a year.
  const tells = kept.length > 1 || (kept.length === 1 && !/^\d{1,3}$/.test(kept[0]));
  return (tells ? kept : all).join(' ');
}

/** What a file says it is by its name; null where it does not say. */
export function kindByName(name: string): VersionKind | null {
  const plain = name.toLowerCase();
  if (/premaster/.test(plain)) return 'mix';
  if (/master/.test(plain)) return 'master';
  return /mix/.test(plain) ? 'mix' : null;
}
