import type { SoundTags } from './sound-info.ts';

/** Longest tag that is kept, characters: longer ones are lyrics or pasted pages, not names (a limit of ours). */
const maxTagLength = 500;

/** What a tag reader may hand over for one name. */
export type RawTag = string | number | readonly string[] | null | undefined;

/**
 * Puts tags into one form: text, lists joined by '; ', control characters and outer blanks gone, at most 500
 * characters, empty ones left out.
 */
export function normaliseTags(raw: Readonly<Record<string, RawTag>>): SoundTags {
  const tags: Record<string, string> = {};
  for (const [name, value] of Object.entries(raw)) {
    const text = tidy(Array.isArray(value) ? value.join('; ') : String(value ?? ''));
    if (text) tags[name] = text;
  }
  return tags;
}

function tidy(text: string): string {
  return Array.from(text.replace(/[\p{Cc}\p{Cs}\u2028\u2029\u202a-\u202e\u2066-\u2069]+/gu, ' ').trim())
    .slice(0, maxTagLength)
    .join('')
    .trim();
}
