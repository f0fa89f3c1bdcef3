import { dynamicsGroup } from './dynamics.ts';
import { faultsGroup } from './faults.ts';
import type { FigureGroup } from './figure.ts';
import { fitnessGroup } from './fitness.ts';
import { loudnessGroup, peaksGroup, toneGroup } from './main-groups.ts';
import { sectionsGroup } from './sections.ts';
import { stereoGroup } from './stereo.ts';

/** What every version is read by first. */
export const mainGroups: readonly FigureGroup[] = [loudnessGroup, peaksGroup, toneGroup];

/** What is looked up on demand. */
export const detailGroups: readonly FigureGroup[] = [
  dynamicsGroup,
  stereoGroup,
  sectionsGroup,
  faultsGroup,
  fitnessGroup,
];
