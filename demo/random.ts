/** A stream of numbers in [0, 1). The same seed gives the same stream on every machine. */
export type Random = () => number;

/** Seeded by any text ('ferry-light/bass'): the text is hashed (FNV-1a) and feeds a 32-bit counter generator. */
export function randomFrom(seed: string): Random {
  let hash = 0x811c9dc5;
  for (let i = 0; i < seed.length; i++) hash = Math.imul(hash ^ seed.charCodeAt(i), 0x01000193);
  let state = hash >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Bell-shaped, mean 0, standard deviation 1, never beyond +-3.5 (sum of twelve, so no player is ever wildly off). */
export function bell(random: Random): number {
  let sum = -6;
  for (let i = 0; i < 12; i++) sum += random();
  return Math.max(-3.5, Math.min(3.5, sum));
}
