import { type WideBandName, wideBandNames } from '../measure/wide-bands.ts';
import { leastSquares } from '../signal/least-squares.ts';
import { bandCentresHz } from './place-curve.ts';

/** What a listener taps for one area: -1 too little, 0 right, 1 too much; halves for 'a little'. */
export type Tap = number;

/** One song or reference heard in one real place. */
export interface WalkTaps {
  readonly taps: Partial<Record<WideBandName, Tap>>;
}

export interface WalkStop {
  readonly placeId: string;
  readonly name: string;
  /** How much the listener trusts this place, 0 to 1. */
  readonly trust: number;
  readonly song: WalkTaps;
  /** What the references sounded like there; what they share with the song is the place's, not the song's. */
  readonly references: readonly WalkTaps[];
  /**
   * What of each third octave (20 Hz to 20 kHz) is heard there at all, 0 to 1, from the place's model; null when unknown.
   */
  readonly heard: readonly number[] | null;
}

export interface WalkConflict {
  readonly area: WideBandName;
  /** Place ids that ask for less and for more. */
  readonly tooMuch: readonly string[];
  readonly tooLittle: readonly string[];
  /** What the correction does there, dB. */
  readonly compromiseDb: number;
}

/** What the correction leaves of the wishes of one place in one area. */
export interface WalkPrediction {
  readonly placeId: string;
  readonly area: WideBandName;
  /** Change that this place asks for, dB. */
  readonly wantedDb: number;
  /** Change that it hears, dB. */
  readonly heardDb: number;
  /** Whether what is left is smaller than a listener tapped. */
  readonly answered: boolean;
}

export interface WalkSolution {
  /** Gain of each third octave, 20 Hz to 20 kHz, dB. */
  readonly curveDb: Float64Array;
  readonly predictions: readonly WalkPrediction[];
  readonly conflicts: readonly WalkConflict[];
  /** Complaints, and those that the correction answers. */
  readonly complaints: number;
  readonly answered: number;
}

export interface WalkChoice {
  /** Change that a whole 'too much' asks for, dB. */
  readonly tapDb?: number;
  /** How strongly the curve is held small; more gives less correction. */
  readonly restraint?: number;
  /** How strongly it is held smooth. */
  readonly smoothness?: number;
  /** How strongly it is held level from band to band. */
  readonly evenness?: number;
}

/** Edges of the areas as the listener is told them, Hz; the same as the wide bands' but for both ends. */
const areaEdges = [25, 120, 500, 2000, 6000, 16000] as const;
/** Change that a tap asks for; three decibels of a broad band are plainly heard (common practice). */
const usualTapDb = 3;

/** Weights of the third octaves in each area; they add up to 1. */
export const areaWeights: readonly Float64Array[] = wideBandNames.map((_, a) => {
  const inside = bandCentresHz.map((hertz) =>
    hertz >= areaEdges[a] * 0.999 && hertz < areaEdges[a + 1] ? 1 : 0,
  );
  const count = inside.reduce<number>((sum, one) => sum + one, 0);
  return Float64Array.from(inside, (one) => one / count);
});

interface Wish {
  readonly stop: WalkStop;
  readonly area: number;
  readonly weight: number;
  readonly wantedDb: number;
  /** Complained about, rather than found right. */
  readonly complaint: boolean;
  readonly row: Float64Array;
}

/**
 * The smallest smooth correction that answers the complaints of a walk: weighted least squares over third octaves. A wish is
 * the change a place asks for in an area: against the taps, after what the references there were tapped for is taken off.
 * 'Right' is a wish for no change. Weights are the trust in the place, times how much of the area is heard there, times what the
 * references there are worth as a yardstick. All constants are heuristics of this project.
 */
export function solveWalk(stops: readonly WalkStop[], choice: WalkChoice = {}): WalkSolution {
  const { tapDb = usualTapDb, restraint = 0.02, smoothness = 0.3, evenness = 0.15 } = choice;
  const wishes = stops.flatMap((stop) => wishesOf(stop, tapDb));
  const count = bandCentresHz.length;
  const rows = wishes.map(({ row, weight }) => Array.from(row, (share) => Math.sqrt(weight) * share));
  const right = wishes.map(({ weight, wantedDb }) => Math.sqrt(weight) * wantedDb);
  // Small: the mean square of the curve. Smooth: its second differences.
  for (let i = 0; i < count; i++) rows.push(alone(count, [[i, Math.sqrt(restraint / count)]]));
  const bend = Math.sqrt(smoothness / count);
  for (let i = 1; i < count - 1; i++)
    rows.push(
      alone(count, [
        [i - 1, bend],
        [i, -2 * bend],
        [i + 1, bend],
      ]),
    );
  // Level where nobody said anything: a slope does not run on beyond what was heard.
  const slope = Math.sqrt(evenness / count);
  for (let i = 1; i < count; i++)
    rows.push(
      alone(count, [
        [i - 1, -slope],
        [i, slope],
      ]),
    );
  const curveDb = Float64Array.from(
    leastSquares(
      rows,
      rows.map((_, i) => right[i] ?? 0),
    ),
  );
  const predictions = wishes.map(({ stop, area, row, wantedDb, complaint }) => {
    const heardDb = row.reduce((sum, share, i) => sum + share * curveDb[i], 0);
    return {
      placeId: stop.placeId,
      area: wideBandNames[area],
      wantedDb,
      heardDb,
      answered: Math.abs(wantedDb - heardDb) < 0.5 * tapDb,
      complaint,
    };
  });
  const complaints = predictions.filter(({ complaint }) => complaint);
  return {
    curveDb,
    predictions: predictions.map(({ complaint: _, ...prediction }) => prediction),
    conflicts: conflictsOf(wishes, curveDb),
    complaints: complaints.length,
    answered: complaints.filter(({ answered }) => answered).length,
  };
}

/** A row with these values and nothing else. */
function alone(count: number, values: readonly (readonly [at: number, value: number])[]): number[] {
  const row = new Array<number>(count).fill(0);
  for (const [at, value] of values) row[at] = value;
  return row;
}

function wishesOf(stop: WalkStop, tapDb: number): Wish[] {
  return wideBandNames.flatMap((name, area): Wish[] => {
    const tap = stop.song.taps[name];
    if (tap === undefined) return [];
    const others = stop.references.flatMap(({ taps }) => taps[name] ?? []);
    const place = mean(others);
    const wantedDb = -tapDb * (tap - place);
    const inside = areaWeights[area];
    const heard = inside.map((share, i) => share * (stop.heard?.[i] ?? 1));
    const audible = heard.reduce((sum, share) => sum + share, 0);
    // What is not heard there cannot have been judged there; the rest of the area stands for it.
    if (audible < 0.05 || stop.trust <= 0) return [];
    const row = heard.map((share) => share / audible);
    return [
      {
        stop,
        area,
        weight: stop.trust * audible * yardstick(others),
        wantedDb,
        complaint: Math.abs(wantedDb) > 0.25 * tapDb,
        row,
      },
    ];
  });
}

/**
 * What a place's references are worth: without any the place cannot be told from the song; where they sound wrong themselves, or
 * each otherwise, what is left of a complaint after them is less sure.
 */
function yardstick(references: readonly Tap[]): number {
  if (references.length === 0) return 0.5;
  const place = mean(references);
  const apart = mean(references.map((tap) => Math.abs(tap - place)));
  return 1 - 0.4 * Math.min(1, Math.abs(place)) - 0.3 * Math.min(1, apart);
}

function mean(values: readonly number[]): number {
  return values.length > 0 ? values.reduce((sum, one) => sum + one, 0) / values.length : 0;
}

function conflictsOf(wishes: readonly Wish[], curveDb: Float64Array): WalkConflict[] {
  return wideBandNames.flatMap((area, index): WalkConflict[] => {
    const here = wishes.filter((wish) => wish.area === index && wish.complaint);
    const ids = (less: boolean) =>
      here.filter(({ wantedDb }) => wantedDb < 0 === less).map(({ stop }) => stop.placeId);
    const [tooMuch, tooLittle] = [ids(true), ids(false)];
    if (tooMuch.length === 0 || tooLittle.length === 0) return [];
    const compromiseDb = areaWeights[index].reduce((sum, share, i) => sum + share * curveDb[i], 0);
    return [{ area, tooMuch, tooLittle, compromiseDb }];
  });
}
