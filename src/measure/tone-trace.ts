import { type BandTrace, bandFloorDb } from './tone-over-time.ts';

/** Tone over time as it is drawn: never judged. */
export interface ToneTrace {
  /** Seconds from one step to the next, and the middle of step 0. */
  readonly stepSeconds: number;
  readonly firstSeconds: number;
  /** Nominal third-octave centres, Hz (IEC 61260-1), as in ToneResult. */
  readonly centresHz: readonly number[];
  /** One array a step, a level a centre: mean square, whole dB relative to 1 (a full-scale sine reads -3). */
  readonly levelsDb: readonly (readonly number[])[];
}

/** Steps kept: a picture is hardly ever drawn wider. */
const mostSteps = 480;

/** The bands over time thinned for a picture: neighbouring steps joined by mean power, levels to whole dB. */
export function toneTrace({ stepSeconds, firstSeconds, centresHz, levelsDb }: BandTrace): ToneTrace {
  const group = Math.max(1, Math.ceil(levelsDb.length / mostSteps));
  const joined: number[][] = [];
  for (let i = 0; i < levelsDb.length; i += group) {
    const steps = levelsDb.slice(i, i + group);
    joined.push(
      centresHz.map((_, band) => {
        const power = steps.reduce((sum, levels) => sum + 10 ** (levels[band] / 10), 0) / steps.length;
        return Math.round(Math.max(bandFloorDb, 10 * Math.log10(power)));
      }),
    );
  }
  return {
    stepSeconds: stepSeconds * group,
    firstSeconds: firstSeconds + ((group - 1) * stepSeconds) / 2,
    centresHz,
    levelsDb: joined,
  };
}
