import type { Piece } from '../piece.ts';
import { cisternWalk } from './cistern-walk.ts';
import { copperOverpass } from './copper-overpass.ts';
import { glassEscalator } from './glass-escalator.ts';
import { halfTheTide } from './half-the-tide.ts';
import { orchardInNovember } from './orchard-in-november.ts';

/** Finished pieces of varied style by invented artists, to be compared with. */
export const references: readonly Piece[] = [
  orchardInNovember,
  copperOverpass,
  glassEscalator,
  halfTheTide,
  cisternWalk,
];
