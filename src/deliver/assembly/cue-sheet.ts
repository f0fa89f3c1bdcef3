import type { AlbumPlan } from './album-plan.ts';
import { discTime } from './disc.ts';

export interface CueWords {
  readonly file: string;
  readonly title: string;
  readonly artist: string;
  /** Thirteen digits, or ''. */
  readonly barcode: string;
  readonly songs: readonly {
    readonly title: string;
    readonly artist: string;
    readonly writers: readonly string[];
    /** Twelve characters, or ''. */
    readonly isrc: string;
  }[];
}

/** Most characters of a text that readers of cue sheets take (common practice, from CD-TEXT packs). */
const mostLetters = 80;

/**
 * The cue sheet of an image: where songs (index 01) and the pauses before them (index 00) begin, with what a disc carries of
 * words. Places are on disc frames. The form is nobody's standard; this is what cue readers agree on (common practice).
 * Throws RangeError where a plan is not on the grid.
 */
export function cueSheet(plan: AlbumPlan, words: CueWords): string {
  const lines = [
    ...(words.barcode === '' ? [] : [`CATALOG ${words.barcode}`]),
    `PERFORMER ${quoted(words.artist)}`,
    `TITLE ${quoted(words.title)}`,
    `FILE ${quoted(words.file, 255)} WAVE`,
  ];
  for (const [i, { markFrame, pauseFrame }] of plan.tracks.entries()) {
    const { title, artist, writers, isrc } = words.songs[i];
    lines.push(
      `  TRACK ${String(i + 1).padStart(2, '0')} AUDIO`,
      `    TITLE ${quoted(title)}`,
      `    PERFORMER ${quoted(artist)}`,
      ...(writers.length === 0 ? [] : [`    SONGWRITER ${quoted(writers.join(', '))}`]),
      ...(isrc === '' ? [] : [`    ISRC ${isrc}`]),
      ...(pauseFrame === null ? [] : [`    INDEX 00 ${discTime(pauseFrame)}`]),
      // What is before the first song belongs to it: a disc has its own pause there.
      `    INDEX 01 ${discTime(i === 0 ? 0 : markFrame)}`,
    );
  }
  return `${lines.join('\r\n')}\r\n`;
}

/** The form has no way to write a quotation mark inside a text. */
function quoted(text: string, most = mostLetters): string {
  const plain = text.replaceAll('"', '”').replace(/[\p{Cc}]+/gu, ' ');
  return `"${[...plain].slice(0, most).join('')}"`;
}
