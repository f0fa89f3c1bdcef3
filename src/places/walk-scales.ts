import { wideBandNames } from '../measure/wide-bands.ts';

/** What can be tapped beside the five areas: whether the lead, the width or the loudness is too little or too much. */
export const walkAspects = ['voice', 'width', 'loudness'] as const;
export type WalkAspect = (typeof walkAspects)[number];
export const walkScales = [...wideBandNames, ...walkAspects] as const;
export type WalkScale = (typeof walkScales)[number];
