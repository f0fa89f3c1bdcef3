import { quietShape } from './noise-shapes.ts';
import type { Curve, Place, PlaceLayout } from './place.ts';
import type { MeasuredResponse } from './sweep-measure.ts';

export interface MeasuredPlaceChoice {
  readonly id: string;
  readonly name: string;
  readonly layout: PlaceLayout;
  /** How loud the place's noise is; a recorder's own level says nothing about it, so the listener does. */
  readonly noiseDba: number;
  readonly talkOverDba: number;
  readonly loudDba: number;
}

/** Steepness beyond the last sure band, dB an octave (heuristic: most loudspeakers fall at least so fast there). */
const beyondDbPerOctave = 12;
/** Third octaves that must be sure before a place is made of them (heuristic). */
export const leastSureBands = 6;

/**
 * A place out of what was measured there. Where nothing is sure the curve falls away from the last sure band; gaps between
 * sure bands are bridged straight. Null when fewer than `leastSureBands` are sure.
 */
export function placeOfMeasurement(
  measured: {
    readonly bands: readonly Pick<MeasuredResponse['bands'][number], 'centreHz' | 'db' | 'sure'>[];
  },
  choice: MeasuredPlaceChoice,
  noise: readonly { readonly centreHz: number; readonly noiseDb: number | null }[] = [],
): Place | null {
  const sure = measured.bands.flatMap(({ centreHz, db, sure: known }) =>
    known && db !== null ? [{ hertz: centreHz, db }] : [],
  );
  if (sure.length < leastSureBands) return null;
  const [first, last] = [sure[0], sure[sure.length - 1]];
  const clamp = (db: number) => Math.max(-60, db);
  const response: Curve = [
    ...(first.hertz > 21
      ? [{ hertz: 20, db: clamp(first.db - beyondDbPerOctave * Math.log2(first.hertz / 20)) }]
      : []),
    ...sure,
    ...(last.hertz < 19000
      ? [{ hertz: 20000, db: clamp(last.db - beyondDbPerOctave * Math.log2(20000 / last.hertz)) }]
      : []),
  ];
  const shape = noise.flatMap(({ centreHz, noiseDb }) =>
    noiseDb === null ? [] : [{ hertz: centreHz, db: Math.max(-120, Math.min(60, noiseDb)) }],
  );
  const measuredHere = (note: string) => ({ source: 'measured', note });
  return {
    id: choice.id,
    name: choice.name,
    response,
    layout: choice.layout,
    field: 'free',
    protection: null,
    maximumDb: 120,
    wireless: false,
    noise: { shape: shape.length > 0 ? shape : quietShape, levelDba: choice.noiseDba },
    levels: { talkOverDba: choice.talkOverDba, loudDba: choice.loudDba },
    sources: {
      response: measuredHere(
        `${sure.length} third octaves from ${Math.round(first.hertz)} Hz to ${Math.round(last.hertz)} Hz`,
      ),
      layout: measuredHere('as told by the listener'),
      limits: measuredHere('not measured: none are assumed'),
      noise: measuredHere(
        shape.length > 0 ? 'spectrum recorded, level told by the listener' : 'level told by the listener',
      ),
      levels: measuredHere('as told by the listener'),
    },
  };
}

/** The most points that a microphone's file is read for. */
const mostPoints = 2000;

/**
 * A microphone's response from its text file: lines of frequency in Hz and level in dB, apart by blanks, tabs, commas or
 * semicolons; further columns and lines that do not begin with a number are passed over.
 *
 * @returns null when the text holds no curve
 */
export function microphoneCurve(text: string): Curve | null {
  const points = new Map<number, number>();
  for (const line of text.split(/\r?\n/)) {
    const [hertz, db] = line
      .trim()
      .replace(/^"|"$/g, '')
      .split(/[\s,;]+/)
      .map(Number);
    if (hertz >= 10 && hertz <= 24000 && db >= -60 && db <= 60 && points.size < mostPoints)
      points.set(hertz, db);
  }
  const curve = [...points].map(([hertz, db]) => ({ hertz, db })).sort((a, b) => a.hertz - b.hertz);
  return curve.length >= 2 ? curve : null;
}
