import type { FileReport } from '../file-report.ts';
import { dynamicsGroup } from './dynamics.ts';
import { faultsGroup } from './faults.ts';
import type { FigureGroup } from './figure.ts';
import { fitnessGroup } from './fitness.ts';
import { loudnessGroup, peaksGroup, toneGroup } from './main-groups.ts';
import { sectionsGroup } from './sections.ts';
import { stereoGroup } from './stereo.ts';

/** What every version is read by first. */
export const mainGroups: readonly FigureGroup[] = [loudnessGroup, peaksGroup, toneGroup];

const always: readonly FigureGroup[] = [dynamicsGroup, stereoGroup, sectionsGroup, faultsGroup];

/** What is looked up on demand; of a mix also whether it is fit for finishing. */
export function detailGroupsFor({ kind }: Pick<FileReport, 'kind'>): readonly FigureGroup[] {
  return kind === 'mix' ? [fitnessGroup, ...always] : always;
}

/** All groups of a report, in the order in which they are shown. */
export function groupsFor(report: Pick<FileReport, 'kind'>): readonly FigureGroup[] {
  return [...mainGroups, ...detailGroupsFor(report)];
}
