/** How the desk's sound is turned before it goes out. */
export interface Turning {
  readonly fold: 'stereo' | 'mono' | 'side';
  /** Left and right change places. */
  readonly swap: boolean;
  /** The right channel turned over. */
  readonly flip: boolean;
  /** Added to everything, dB. */
  readonly levelDb: number;
  /** 20 dB down. */
  readonly quiet: boolean;
}

const quietDb = -20;

/**
 * The matrix (l to left, r to left, l to right, r to right) of a turning. The right channel is turned over first, then the two
 * change places, then they are folded: so turned over and in mono is what the sides do not share. Mono is half the sum: what
 * is in the middle keeps its level. Side is half the difference, in both.
 */
export function turningMatrix({ fold, swap, flip, levelDb, quiet }: Turning): Float32Array {
  const gain = 10 ** ((levelDb + (quiet ? quietDb : 0)) / 20);
  const r = flip ? -1 : 1;
  const [first, second]: readonly (readonly [number, number])[] = swap
    ? [
        [0, r],
        [1, 0],
      ]
    : [
        [1, 0],
        [0, r],
      ];
  if (fold === 'stereo') return Float32Array.of(...first, ...second).map((x) => x * gain);
  const sign = fold === 'mono' ? 1 : -1;
  const one = first.map((x, i) => (gain * (x + sign * second[i])) / 2);
  return Float32Array.of(...one, ...one);
}
