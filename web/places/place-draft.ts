import { type Curve, type Place, placeSchema } from '../../src/places/place.ts';

/** A place as it is being typed: every figure as its text. */
export interface PlaceDraft {
  /** By the figure's path in `Place`: 'protection.belowHz'. */
  readonly texts: Readonly<Record<string, string>>;
  readonly layout: Place['layout']['kind'];
  readonly field: Place['field'];
  readonly wireless: boolean;
  readonly protects: boolean;
  readonly noisy: boolean;
  readonly response: readonly DraftPoint[];
  readonly shape: readonly DraftPoint[];
}

export interface DraftPoint {
  /** Stays the same while it is edited and moved. */
  readonly key: number;
  readonly hertz: string;
  readonly db: string;
}

export type EditedPlace = Omit<Place, 'id' | 'sources'>;
const edited = placeSchema.omit({ id: true, sources: true });

/** What a place without protection, or without noise, begins with when it gets some. */
const usual = {
  belowHz: 150,
  thresholdDb: 80,
  attackSeconds: 0.03,
  releaseSeconds: 0.2,
  sideDb: -3,
  angleDegrees: 30,
};
const usualShape: Curve = [
  { hertz: 20, db: 0 },
  { hertz: 20_000, db: -30 },
];
const usualNoiseDba = 35;

let made = 0;
export const draftPoint = (hertz: string, db: string): DraftPoint => ({ key: made++, hertz, db });
const draftCurve = (curve: Curve) => curve.map(({ hertz, db }) => draftPoint(text(hertz, 2), text(db, 2)));
const text = (value: number, decimals = 4) => String(Number(value.toFixed(decimals)));

export function draftOf(place: EditedPlace): PlaceDraft {
  const { layout, protection, noise } = place;
  const guard = protection ?? usual;
  return {
    texts: {
      name: place.name,
      'layout.sideDb': text(layout.kind === 'narrow' ? layout.sideDb : usual.sideDb),
      'layout.angleDegrees': text(layout.kind === 'stereo' ? layout.angleDegrees : usual.angleDegrees),
      maximumDb: text(place.maximumDb),
      'protection.belowHz': text(guard.belowHz),
      'protection.thresholdDb': text(guard.thresholdDb),
      'protection.attackSeconds': text(guard.attackSeconds),
      'protection.releaseSeconds': text(guard.releaseSeconds),
      'noise.levelDba': text(noise?.levelDba ?? usualNoiseDba),
      'levels.talkOverDba': text(place.levels.talkOverDba),
      'levels.loudDba': text(place.levels.loudDba),
    },
    layout: layout.kind,
    field: place.field,
    wireless: place.wireless,
    protects: protection !== null,
    noisy: noise !== null,
    response: draftCurve(place.response),
    shape: draftCurve(noise?.shape ?? usualShape),
  };
}

/** A figure's text as a number; NaN where it is none. A comma and a true minus are read too. */
export function numberOf(written: string): number {
  const plain = written.trim().replace('−', '-').replace(',', '.');
  return plain === '' ? Number.NaN : Number(plain);
}

/** The place as typed, or what is wrong with it: a sentence for each figure's path. */
export function placeOf(
  draft: PlaceDraft,
): { readonly place: EditedPlace } | { readonly errors: Record<string, string> } {
  const { texts } = draft;
  const read = (path: string) => numberOf(texts[path] ?? '');
  const curve = (points: readonly DraftPoint[]) =>
    points.map(({ hertz, db }) => ({ hertz: numberOf(hertz), db: numberOf(db) }));
  const layout =
    draft.layout === 'narrow'
      ? { kind: draft.layout, sideDb: read('layout.sideDb') }
      : draft.layout === 'stereo'
        ? { kind: draft.layout, angleDegrees: read('layout.angleDegrees') }
        : { kind: draft.layout };
  const result = edited.safeParse({
    name: (texts.name ?? '').trim(),
    response: curve(draft.response),
    layout,
    field: draft.field,
    protection: draft.protects
      ? {
          belowHz: read('protection.belowHz'),
          thresholdDb: read('protection.thresholdDb'),
          attackSeconds: read('protection.attackSeconds'),
          releaseSeconds: read('protection.releaseSeconds'),
        }
      : null,
    maximumDb: read('maximumDb'),
    wireless: draft.wireless,
    noise: draft.noisy ? { shape: curve(draft.shape), levelDba: read('noise.levelDba') } : null,
    levels: { talkOverDba: read('levels.talkOverDba'), loudDba: read('levels.loudDba') },
  });
  return result.success ? { place: result.data } : { errors: errorsOf(result.error.issues) };
}

/** What is wrong, by the path of the figure it is wrong with. */
function errorsOf(issues: readonly Issue[]): Record<string, string> {
  const errors: Record<string, string> = {};
  for (const issue of issues) errors[issue.path.join('.')] ??= sentenceOf(issue);
  return errors;
}

interface Issue {
  readonly code?: string;
  readonly path: readonly PropertyKey[];
  readonly message: string;
  readonly minimum?: number | bigint;
  readonly maximum?: number | bigint;
  readonly origin?: string;
}

function sentenceOf({ code, message, minimum, maximum, origin }: Issue): string {
  if (origin === 'string') return code === 'too_small' ? 'It needs a name.' : `At most ${maximum} letters.`;
  if (origin === 'array') return code === 'too_small' ? 'It needs a point.' : `At most ${maximum} points.`;
  if (code === 'too_small') return `At least ${minimum}.`;
  if (code === 'too_big') return `At most ${maximum}.`;
  if (code === 'invalid_type') return 'A number is needed.';
  return `${message[0]?.toUpperCase()}${message.slice(1)}.`;
}

/** What of a curve as typed can be drawn: its points that are numbers, by frequency. */
export function drawnCurve(points: readonly DraftPoint[]): Curve {
  return points
    .map(({ hertz, db }) => ({ hertz: numberOf(hertz), db: numberOf(db) }))
    .filter(({ hertz, db }) => hertz >= 10 && hertz <= 24_000 && Math.abs(db) <= 120)
    .sort((a, b) => a.hertz - b.hertz);
}
