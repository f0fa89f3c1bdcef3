import { grouped } from './grouped.ts';
import type { Rating } from './rating.ts';

export interface ScreenedListener {
  readonly listener: number;
  readonly screens: number;
  /** Screens on which the hidden reference was rated below 90. */
  readonly referenceMissed: number;
  /** Screens on which the mid anchor was rated above 90. */
  readonly anchorMissed: number;
  readonly kept: boolean;
}

/** ITU-R BS.1534-3, post-screening (as it is generally cited; the text was not at hand). */
const referenceLeast = 90;
const anchorMost = 90;
const missedMost = 0.15;

/**
 * Post-screening of ITU-R BS.1534-3: set aside is who rates the hidden reference below 90 on more than 15 % of the screens,
 * or the mid anchor above 90 on more than 15 %. Without a hidden reference (taste) there is nothing to screen by, and
 * everyone is kept.
 */
export function postScreen(ratings: readonly Rating[]): ScreenedListener[] {
  const listeners = grouped(ratings, ({ listener }) => listener);
  return [...listeners].map(([listener, own]) => {
    const references = own.filter(({ stimulus }) => stimulus === 'reference');
    const anchors = own.filter(({ stimulus }) => stimulus === 'mid-anchor');
    const referenceMissed = references.filter(({ score }) => score < referenceLeast).length;
    const anchorMissed = anchors.filter(({ score }) => score > anchorMost).length;
    return {
      listener,
      screens: new Set(own.map(({ screen }) => screen)).size,
      referenceMissed,
      anchorMissed,
      kept: referenceMissed <= missedMost * references.length && anchorMissed <= missedMost * anchors.length,
    };
  });
}
