/** Kinds of record, as they are called. */
export const kindWords = { single: 'single', ep: 'EP', album: 'album' } as const;

/** How a song follows the one before it. */
export const joinWords = {
  gap: 'after a gap',
  joined: 'joined, without a break',
  crossfade: 'crossfaded',
} as const;
