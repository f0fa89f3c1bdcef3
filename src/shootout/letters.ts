import { SeededRandom } from '../signal/seeded-random.ts';

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ';

/**
 * The letters behind which the entries stand, for each listener other ones: result[listener][entry] is a letter from
 * the first `entries` of the alphabet. No two listeners have the same key until all orders are used up, so talk among
 * listeners about 'B' tells nothing.
 */
export function lettersFor(entries: number, listeners: number, seed: string): string[][] {
  if (!(entries >= 1 && entries <= alphabet.length)) throw new RangeError('1 to 26 entries can have letters');
  const random = new SeededRandom(`letters ${seed}`);
  const orders = Array.from({ length: entries }, (_, i) => i + 1).reduce((product, i) => product * i, 1);
  const used = new Set<string>();
  return Array.from({ length: listeners }, () => {
    if (used.size >= orders) used.clear();
    for (;;) {
      const letters = random.shuffle([...alphabet.slice(0, entries)]);
      const key = letters.join('');
      if (used.has(key)) continue;
      used.add(key);
      return letters;
    }
  });
}
