import { solveSymmetric } from './least-squares.ts';
import { bandCentresHz } from './place-curve.ts';

export interface EqualiserBand {
  readonly kind: 'low-shelf' | 'bell' | 'high-shelf';
  readonly hertz: number;
  readonly q: number;
  readonly gainDb: number;
}

/** Rate at which the bands are drawn; high enough that the bilinear transform bends nothing below 16 kHz much. */
const drawnRate = 192000;

/**
 * Gain of an equaliser band at a frequency, dB: the filters of R. Bristow-Johnson's 'Cookbook formulae for audio EQ'
 * (from memory), at a rate that leaves their analogue shape.
 */
export function equaliserGainDb({ kind, hertz, q, gainDb }: EqualiserBand, at: number): number {
  const a = 10 ** (gainDb / 40);
  const w0 = (2 * Math.PI * hertz) / drawnRate;
  const [c, alpha] = [Math.cos(w0), Math.sin(w0) / (2 * q)];
  const root = 2 * Math.sqrt(a) * alpha;
  const coefficients =
    kind === 'bell'
      ? [1 + alpha * a, -2 * c, 1 - alpha * a, 1 + alpha / a, -2 * c, 1 - alpha / a]
      : shelf(a, kind === 'low-shelf' ? c : -c, root, kind === 'low-shelf' ? 1 : -1);
  const w = (2 * Math.PI * at) / drawnRate;
  const power = (x: number, y: number, z: number) =>
    (x + y * Math.cos(w) + z * Math.cos(2 * w)) ** 2 + (y * Math.sin(w) + z * Math.sin(2 * w)) ** 2;
  const [b0, b1, b2, a0, a1, a2] = coefficients;
  return 10 * Math.log10(power(b0, b1, b2) / power(a0, a1, a2));
}

/** Both shelves are one formula with the sign of the cosine turned. */
function shelf(a: number, c: number, root: number, sign: number): number[] {
  return [
    a * (a + 1 - (a - 1) * c + root),
    2 * a * sign * (a - 1 - (a + 1) * c),
    a * (a + 1 - (a - 1) * c - root),
    a + 1 + (a - 1) * c + root,
    -2 * sign * (a - 1 + (a + 1) * c),
    a + 1 + (a - 1) * c - root,
  ];
}

export interface EqualiserFit {
  readonly bands: readonly EqualiserBand[];
  /** Greatest distance from the curve, dB, 25 Hz to 16 kHz. */
  readonly worstDb: number;
}

const shapes: readonly Pick<EqualiserBand, 'kind' | 'hertz' | 'q'>[] = [
  ...[80, 120, 180, 270].map((hertz) => ({ kind: 'low-shelf', hertz, q: 0.7 }) as const),
  ...[4000, 6000, 8000, 10000].map((hertz) => ({ kind: 'high-shelf', hertz, q: 0.7 }) as const),
  ...bandCentresHz
    .filter((hertz) => hertz > 35 && hertz < 13000)
    .flatMap((hertz) => [0.5, 0.8, 1.3].map((q) => ({ kind: 'bell', hertz, q }) as const)),
];

/**
 * A curve over the third octaves as few equaliser bands: takes the shape that helps most, sets all gains anew, and stops
 * when the curve is met or the bands are used up.
 *
 * @param curveDb gains of the 31 third octaves
 */
export function fitEqualiser(curveDb: ArrayLike<number>, withinDb = 0.5, mostBands = 4): EqualiserFit {
  const used = bandCentresHz
    .map((hertz, i) => ({ hertz, i }))
    .filter(({ hertz }) => hertz > 24 && hertz < 17000);
  const target = Float64Array.from(used, ({ i }) => curveDb[i]);
  // Shapes of 3 dB; between small gains they are nearly proportional, which Newton's steps below put right.
  const drawn = shapes.map((shape) =>
    used.map(({ hertz }) => equaliserGainDb({ ...shape, gainDb: 3 }, hertz) / 3),
  );
  let chosen: number[] = [];
  let bands: EqualiserBand[] = [];
  let worst = worstOf(bands, used, target);
  while (bands.length < mostBands && worst > withinDb) {
    let best = { index: -1, left: Number.POSITIVE_INFINITY };
    drawn.forEach((_, index) => {
      if (chosen.includes(index)) return;
      const gains = gainsFor(
        [...chosen, index].map((i) => drawn[i]),
        target,
      );
      const left = target.reduce((sum, want, n) => {
        const got = [...chosen, index].reduce((all, i, g) => all + gains[g] * drawn[i][n], 0);
        return sum + (want - got) ** 2;
      }, 0);
      if (left < best.left) best = { index, left };
    });
    chosen = [...chosen, best.index];
    bands = refine(chosen, drawn, used, target);
    worst = worstOf(bands, used, target);
  }
  return { bands: bands.filter(({ gainDb }) => Math.abs(gainDb) > 0.05), worstDb: worst };
}

type UsedBand = { readonly hertz: number };

function gainsFor(columns: readonly (readonly number[])[], target: Float64Array): Float64Array {
  const matrix = columns.map((a) =>
    Float64Array.from(
      columns,
      (b) => a.reduce((sum, value, n) => sum + value * b[n], 0) + (a === b ? 1e-6 : 0),
    ),
  );
  return solveSymmetric(
    matrix,
    Float64Array.from(columns, (a) => a.reduce((sum, value, n) => sum + value * target[n], 0)),
  );
}

function refine(
  chosen: readonly number[],
  drawn: readonly (readonly number[])[],
  used: readonly UsedBand[],
  target: Float64Array,
): EqualiserBand[] {
  const columns = chosen.map((i) => drawn[i]);
  let gains = gainsFor(columns, target);
  for (let round = 0; round < 4; round++) {
    const now = chosen.map((i, g) => ({ ...shapes[i], gainDb: gains[g] }));
    const rest = target.map((want, n) => want - sumOf(now, used[n].hertz));
    const step = gainsFor(columns, rest);
    gains = gains.map((gain, g) => Math.max(-12, Math.min(12, gain + step[g])));
  }
  return chosen.map((i, g) => ({ ...shapes[i], gainDb: gains[g] }));
}

function sumOf(bands: readonly EqualiserBand[], hertz: number): number {
  return bands.reduce((sum, band) => sum + equaliserGainDb(band, hertz), 0);
}

function worstOf(bands: readonly EqualiserBand[], used: readonly UsedBand[], target: Float64Array): number {
  return target.reduce((worst, want, n) => Math.max(worst, Math.abs(want - sumOf(bands, used[n].hertz))), 0);
}
