import { SeededRandom } from '../signal/seeded-random.ts';
import { longestSessionSeconds, roundsThatFit } from './listening-time.ts';
import { williamsDesign } from './williams.ts';

/** What stands behind a slider: an entry by its number, the hidden reference, or an anchor (ITU-R BS.1534-3). */
export type Stimulus = number | 'reference' | 'low-anchor' | 'mid-anchor';

export interface RatingScreenOptions {
  readonly entries: number;
  readonly listeners: number;
  readonly sections: number;
  readonly excerptSeconds: number;
  /**
   * 'damage': how far each is from an open reference; then a hidden reference and both anchors are rated too
   * (ITU-R BS.1534-3). 'taste': which is liked; then nothing is right, and there is neither.
   */
  readonly question: 'damage' | 'taste';
  readonly seed: string;
  readonly limitSeconds?: number;
}

export interface RatingScreen {
  readonly section: number;
  /** The sliders from first to last. */
  readonly order: readonly Stimulus[];
}

/** BS.1534-3: no more than twelve signals a screen (from memory), of which the reference and anchors take three. */
export const mostStimuli = 12;

/**
 * Rating screens for every listener, one a section, as many as fit the session (at least one). The orders on the screens
 * are the rows of a Williams design, dealt out in turn: every stimulus stands in every place and beside every other
 * equally often over all screens, to within one deal.
 */
export function ratingScreens(options: RatingScreenOptions): RatingScreen[][] {
  const { entries, listeners, sections, excerptSeconds, question, seed } = options;
  const stimuli: Stimulus[] = Array.from({ length: entries }, (_, i) => i);
  if (question === 'damage') stimuli.push('reference', 'low-anchor', 'mid-anchor');
  if (entries < 1 || stimuli.length > mostStimuli)
    throw new RangeError(`a rating screen holds 1 to ${mostStimuli} sounds`);
  const random = new SeededRandom(`rating ${seed}`);
  const named = random.shuffle(stimuli);
  const rows = random.shuffle(williamsDesign(stimuli.length));
  const fit = roundsThatFit(stimuli.length, excerptSeconds, options.limitSeconds ?? longestSessionSeconds);
  const screens = Math.max(1, Math.min(sections, fit));
  let dealt = 0;
  return Array.from({ length: listeners }, (_, listener) => {
    const order = Array.from({ length: sections }, (_, i) => (i + listener * screens) % sections).slice(
      0,
      screens,
    );
    return random.shuffle(order).map((section) => ({
      section,
      order: rows[dealt++ % rows.length].map((i) => named[i]),
    }));
  });
}
