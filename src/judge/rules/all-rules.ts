import type { Rule } from '../rule.ts';
import { codingRules } from './coding.ts';
import { dynamicsRules } from './dynamics.ts';
import { faultRules } from './faults.ts';
import { fileRules } from './file.ts';
import { fitnessRules } from './fitness.ts';
import { formatRules } from './format.ts';
import { loudnessRules } from './loudness.ts';
import { peakRules } from './peaks.ts';
import { stereoRules } from './stereo.ts';
import { toneRules } from './tone.ts';

/** Every rule; of findings that weigh the same, the earlier rule's stands first. */
export const allRules: readonly Rule[] = [
  ...fileRules,
  ...formatRules,
  ...peakRules,
  ...codingRules,
  ...faultRules,
  ...fitnessRules,
  ...dynamicsRules,
  ...stereoRules,
  ...toneRules,
  ...loudnessRules,
];
