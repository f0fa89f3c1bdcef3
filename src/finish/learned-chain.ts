import type { BandChange } from '../compare/change-result.ts';
import { addPart, type Chain, emptyChain } from './chain.ts';
import { fitBands } from './fit-bands.ts';

/** What of a difference between two masters a chain can begin from. */
export interface LearnedFrom {
  /** Third-octave levels of the one to get to, less those of the one there is, at equal loudness. */
  readonly tone: BandChange;
  /** Loudness of the one to get to less that of the one there is, LU. */
  readonly gainDb: number;
  /** True peak of the one to get to, dBTP; null when not known. */
  readonly truePeakDbtp: number | null;
}

// Few and gentle, because a difference of averages is no recipe (heuristics).
const limits = { most: 5, highestGainDb: 6, closeDb: 0.3 } as const;
/** Outside it the third octaves of music say little about what its maker did (heuristic). */
const fitted = { fromHz: 31.5, toHz: 16_000 } as const;
/** Below these nothing is worth a part (heuristic: about what is heard when switching). */
const worth = { gainDb: 0.2, bandDb: 0.3 } as const;
/** What the limiter takes at most, dB: its range is wider, but no starting point is. */
const mostDriveDb = 12;

/**
 * A chain to begin from that moves the one there is toward the other: its tone by few bands (least squares), its loudness by
 * the limiter or, where it is quieter, by a trim. Nothing of its dynamics and width, which a difference of figures does not
 * tell how to make. A starting point to be heard and changed, not a copy; empty when nothing is worth a part.
 */
export function learnedChain({ tone, gainDb, truePeakDbtp }: LearnedFrom): Chain {
  const target = tone.centresHz.flatMap((hertz, i) => {
    const gain = tone.changeDb[i];
    return gain === null || hertz < fitted.fromHz || hertz > fitted.toHz ? [] : [{ hertz, gainDb: gain }];
  });
  const bands = target.length > 1 ? fitBands(target, limits).bands : [];
  const heard = bands.filter((band) => Math.abs(band.gainDb) >= worth.bandDb);
  let chain = emptyChain;
  if (heard.length > 0) chain = addPart(chain, 'equaliser', { bands: heard.map(roundedBand) });
  if (gainDb <= -worth.gainDb) return addPart(chain, 'trim', { gainDb: hundredth(gainDb) });
  if (gainDb < worth.gainDb) return chain;
  const ceilingDbtp = Math.max(-20, Math.min(0, truePeakDbtp ?? -1));
  return addPart(chain, 'limiter', {
    gainDb: hundredth(Math.min(mostDriveDb, gainDb)),
    ceilingDbtp: hundredth(ceilingDbtp),
  });
}

const hundredth = (value: number): number => Math.round(value * 100) / 100;

/** To figures that a person would set. */
export function roundedBand<Band extends { hertz: number; gainDb: number; q: number }>(band: Band): Band {
  return { ...band, hertz: Math.round(band.hertz), gainDb: hundredth(band.gainDb), q: hundredth(band.q) };
}
