/** A figure stays with its unit on one line. */
const unitGap = /(?<=\d) (?=(dBTP|dBFS|dB|LUFS|LU|kHz|Hz|kb\/s|ms|s|%)\b|%)/g;

/** Breaks a paragraph into lines of at most `width` characters; longer words are left whole. */
export function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.replace(unitGap, '\u00a0').split(/[ \n\t]+/)) {
    if (word === '') continue;
    if (line !== '' && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  if (line !== '') lines.push(line);
  return lines.map((text) => text.replaceAll('\u00a0', ' '));
}

/** A paragraph with the first line after `first` and the others below it, indented alike. */
export function hang(first: string, text: string, width: number): string[] {
  const indent = ' '.repeat(first.length);
  return wrap(text, width - first.length).map((line, i) => (i === 0 ? first : indent) + line);
}
