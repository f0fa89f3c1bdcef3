import type { FigureGroup } from './figure.ts';
import { loudnessGroup, peaksGroup, toneGroup } from './main-groups.ts';

/** What every version is read by first. */
export const mainGroups: readonly FigureGroup[] = [loudnessGroup, peaksGroup, toneGroup];

/** What is looked up on demand. */
export const detailGroups: readonly FigureGroup[] = [];

/** Every figure of a report, in the order in which it is shown. */
export const figureGroups: readonly FigureGroup[] = [...mainGroups, ...detailGroups];
