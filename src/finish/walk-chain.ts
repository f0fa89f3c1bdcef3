import { bandCentresHz } from '../places/place-curve.ts';
import { addPart, type Chain, emptyChain } from './chain.ts';
import type { Band } from './equaliser.ts';
import { bandsGainDb, fitBands } from './fit-bands.ts';
import { roundedBand } from './learned-chain.ts';

// Few and gentle: taps are broad, and so is what answers them (heuristics).
const mostBands = 4;
const highestGainDb = 6;
/** Near enough for what was asked for by taps of 3 dB: with no band more than that takes, each says something by itself. */
const nearDb = 0.95;
/** Outside it nobody taps anything: the areas of a walk end there, Hz. */
const fitted = { fromHz: 24, toHz: 17_000 } as const;
/** Smaller bands are not worth a place (heuristic: about what is heard when switching), dB. */
const worthDb = 0.3;

/**
 * The correction of a walk as the fewest bands of the equaliser that come within 1 dB of it, at most four, lowest first. None
 * where nothing is to be corrected.
 *
 * @param curveDb gains of the 31 third octaves (`solveWalk`)
 */
export function walkBands(curveDb: ArrayLike<number>): Band[] {
  const target = bandCentresHz.flatMap((hertz, i) =>
    hertz > fitted.fromHz && hertz < fitted.toHz ? [{ hertz, gainDb: curveDb[i] }] : [],
  );
  const off = (bands: readonly Band[]) =>
    Math.max(...target.map(({ hertz, gainDb }) => Math.abs(gainDb - bandsGainDb(bands, hertz))));
  let bands: Band[] = [];
  for (let most = 1; most <= mostBands && off(bands) > nearDb; most++)
    bands = fitBands(target, { most, highestGainDb, closeDb: 0 })
      .bands.filter(({ gainDb }) => Math.abs(gainDb) >= worthDb)
      .map(roundedBand);
  return bands.sort((a, b) => a.hertz - b.hertz);
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
