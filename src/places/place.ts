import { z } from 'zod';

const point = z.object({
  hertz: z.number().min(10).max(24000),
  db: z.number().min(-120).max(60),
});
/** A curve over frequency: straight lines over log frequency between the points, flat beyond them. */
const curve = z
  .array(point)
  .min(1)
  .max(2000)
  .refine((points) => points.every(({ hertz }, i) => i === 0 || hertz > points[i - 1].hertz), {
    message: 'the frequencies of a curve must rise',
  });

export type Curve = z.infer<typeof curve>;

const layout = z.discriminatedUnion('kind', [
  /** One loudspeaker, or several with the same: the mean of both sides. */
  z.object({ kind: z.literal('mono') }),
  /** Two loudspeakers so close that the difference of the sides is this much weaker, dB. */
  z.object({ kind: z.literal('narrow'), sideDb: z.number().min(-60).max(0) }),
  /** Each ear its own side. */
  z.object({ kind: z.literal('headphones') }),
  /** Two loudspeakers, each this far from straight ahead; both reach both ears. */
  z.object({ kind: z.literal('stereo'), angleDegrees: z.number().min(1).max(90) }),
]);

/** What keeps a small loudspeaker from harm: bass that grows too strong is taken back. */
const protection = z.object({
  /** Below this the bass is taken back, Hz (first order). */
  belowHz: z.number().min(20).max(2000),
  /** Level of what lies below it from which on that happens, dB SPL at the listener as if the loudspeaker were flat. */
  thresholdDb: z.number().min(20).max(130),
  /** Time over which that level is a mean, and in which it falls again. */
  attackSeconds: z.number().min(0.01).max(1),
  releaseSeconds: z.number().min(0.01).max(5),
});

const noise = z.object({
  /** Third-octave band levels against each other, dB; `levelDba` sets how loud it is. */
  shape: curve,
  levelDba: z.number().min(0).max(110),
});

const figureSource = z.object({
  /** Id of docs/sources.md, or 'measured' for the listener's own. */
  source: z.string(),
  note: z.string(),
});

/** Groups of figures that each say where they come from. */
export const placeFigures = ['response', 'layout', 'limits', 'noise', 'levels'] as const;

/** A place where music is heard, as data. Levels are A-weighted and stand at the listener's ears. */
export const placeSchema = z.object({
  id: z.string().regex(/^[a-z0-9]+(-[a-z0-9]+)*$/),
  name: z.string().min(1).max(80),
  /** From the file to the listener, dB against its middle. */
  response: curve,
  layout,
  /** How sound arrives: from ahead, or from all around. */
  field: z.enum(['free', 'diffuse']),
  protection: protection.nullable(),
  /** Highest level it reaches over about 50 ms, dB SPL; above it is held down. */
  maximumDb: z.number().min(40).max(140),
  /** Whether the sound goes there through a lossy wireless coding, which is heard elsewhere in this program. */
  wireless: z.boolean(),
  noise: noise.nullable(),
  /** What people talk over there, and loud there, dB(A). */
  levels: z.object({ talkOverDba: z.number().min(30).max(110), loudDba: z.number().min(30).max(120) }),
  sources: z.object(
    Object.fromEntries(placeFigures.map((name) => [name, figureSource])) as Record<
      (typeof placeFigures)[number],
      typeof figureSource
    >,
  ),
});

export type Place = z.infer<typeof placeSchema>;
export type PlaceNoise = z.infer<typeof noise>;
export type PlaceLayout = z.infer<typeof layout>;
