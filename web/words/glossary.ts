import type { Figure } from '../../src/judge/figures/figure.ts';
import { mainFigures } from '../../src/judge/figures/main-groups.ts';

/** The figures in which versions are compared. */
export const comparedFigures: readonly Figure[] = [
  mainFigures.integrated,
  mainFigures.range,
  mainFigures.truePeak,
  mainFigures.plr,
  mainFigures.crest,
  mainFigures.tilt,
  mainFigures.low,
  mainFigures.high,
];
