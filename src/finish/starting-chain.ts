import { addPart, type Chain, emptyChain } from './chain.ts';

/**
 * A chain to begin from: every part that a master usually has, set so gently that a good mix comes out much as it went in (heuristic).
 * `why` says what each is for, in its order.
 */
export function startingChain(): { readonly chain: Chain; readonly why: readonly string[] } {
  const parts = [
    [
      'sub-filter',
      { hertz: 20, slope: '12' },
      'takes away what no loudspeaker plays and the limiter would have to work for',
    ],
    [
      'equaliser',
      {
        bands: [
          { shape: 'bell', hertz: 250, gainDb: -0.5, q: 0.8 },
          { shape: 'high-shelf', hertz: 10000, gainDb: 0.5, q: 0.7 },
        ],
      },
      'two bands to begin with; up to twelve, each on both sides, left, right, mid or side',
    ],
    ['width', { monoBelowHertz: 80 }, 'the lowest octaves in the middle, where they cost the least room'],
    [
      'compressor',
      { thresholdDbfs: -18, ratio: 1.5, attackMs: 30, releaseBy: 'programme', sideChainHertz: 100 },
      'holds the song together; slow enough to let the hits through',
    ],
    [
      'limiter',
      { ceilingDbtp: -1 },
      'holds the true peak; its gain makes the song louder (--loudness finds it)',
    ],
    ['dither', { bits: '24' }, 'rounds to the word length that is written; 16 for a compact disc'],
  ] as const;
  return {
    chain: parts.reduce<Chain>((made, [kind, settings]) => addPart(made, kind, settings), emptyChain),
    why: parts.map(([, , why]) => why),
  };
}
