import { bandCentresHz } from '../places/place-curve.ts';
import { addPart, type Chain, emptyChain } from './chain.ts';
import type { Band } from './equaliser.ts';
import { bandsGainDb, fitBands } from './fit-bands.ts';
import { roundedBand } from './learned-chain.ts';

// Few and gentle: taps are broad, and so is what answers them (heuristics).
const limits = { most: 4, highestGainDb: 6, closeDb: 0.2 } as const;
/** Outside it nobody taps anything: the areas of a walk end there, Hz. */
const fitted = { fromHz: 24, toHz: 17_000 } as const;
/** Smaller bands are not worth a place (heuristic: about what is heard when switching), dB. */
const worthDb = 0.3;

/**
 * The correction of a walk as a few bands of the equaliser, lowest first. None where nothing is to be corrected.
 *
 * @param curveDb gains of the 31 third octaves (`solveWalk`)
 */
export function walkBands(curveDb: ArrayLike<number>): Band[] {
  const target = bandCentresHz.flatMap((hertz, i) =>
    hertz > fitted.fromHz && hertz < fitted.toHz ? [{ hertz, gainDb: curveDb[i] }] : [],
  );
  return fitBands(target, limits)
    .bands.filter(({ gainDb }) => Math.abs(gainDb) >= worthDb)
    .map(roundedBand)
    .sort((a, b) => a.hertz - b.hertz);
}

/** What bands do to each of the 31 third octaves, dB: what there is to be predicted from. */
export function walkBandsCurve(bands: readonly Band[]): number[] {
  return bandCentresHz.map((hertz) => bandsGainDb(bands, hertz));
}

/**
 * A chain to begin from that answers a walk: an equaliser of its bands, those that are refused left out and the others as they
 * are; empty when none is left.
 *
 * @param refused places in `walkBands`, from 0
 */
export function walkChain(curveDb: ArrayLike<number>, refused: ReadonlySet<number> = new Set()): Chain {
  const bands = walkBands(curveDb).filter((_, i) => !refused.has(i));
  return bands.length === 0 ? emptyChain : addPart(emptyChain, 'equaliser', { bands });
}
