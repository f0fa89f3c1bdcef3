/** Names that Windows keeps for devices, with or without an ending. */
const deviceName = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i;
/** Most bytes of UTF-8 in a name: 255 is the least that common file systems take, less endings and temporary names. */
const mostBytes = 180;
const encoder = new TextEncoder();

/**
 * Text as a file name that every system takes: no separators, no reserved or control characters, no device names, no dot or
 * blank at the ends, composed (NFC), of bounded length. `otherwise` where nothing is left.
 */
export function safeName(text: string, otherwise: string, bytes = mostBytes): string {
  const plain = text
    .normalize('NFC')
    .replace(/[<>:"/\\|?*\p{Cc}\p{Cf}\p{Cs}]/gu, ' ')
    .replace(/\s+/gu, ' ');
  let kept = '';
  let length = 0;
  for (const letter of plain.trim()) {
    length += encoder.encode(letter).length;
    if (length > bytes) break;
    kept += letter;
  }
  const trimmed = kept.replace(/^[. ]+|[. ]+$/g, '');
  if (trimmed === '') return otherwise;
  return deviceName.test(trimmed) ? `_${trimmed}` : trimmed;
}

/** What a name can be made of. */
export type NameParts = Readonly<Record<'track' | 'title' | 'artist' | 'album' | 'isrc' | 'side', string>>;

/** A name from a template such as '{track} {title}'; unknown words in braces stay as they are. */
export function nameFrom(template: string, parts: NameParts, otherwise: string): string {
  const filled = template.replace(/\{([a-z]+)\}/g, (whole, word: string) =>
    Object.hasOwn(parts, word) ? parts[word as keyof NameParts] : whole,
  );
  return safeName(filled, otherwise);
}

/** The same names where they differ, numbered where two would be one on a file system that does not tell case. */
export function distinctNames(names: readonly string[]): string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    for (let n = 1; ; n++) {
      const tried = n === 1 ? name : `${name} (${n})`;
      const key = tried.normalize('NFC').toLowerCase();
      if (taken.has(key)) continue;
      taken.add(key);
      return tried;
    }
  });
}
