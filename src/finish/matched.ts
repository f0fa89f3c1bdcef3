/**
 * Digital filters with the magnitude of analogue ones right up to the edge of hearing, without the cramping of the bilinear
 * transform near half the sample rate.
 *
 * Poles by impulse invariance, z = exp(s T); zeros so that the magnitude fits: the way of M. Vicanek, 'Matched Second Order
 * Digital Filters' (2016; from memory), who makes the magnitude agree at three frequencies. Here it is fitted by weighted
 * least squares of the relative error over the whole range instead: the squared magnitude of a numerator of order N is a
 * polynomial of order N in sin^2(w/2), so that the fit is linear; its roots, taken inside the unit circle, give a
 * numerator of minimum phase. Two zeros are enough at low frequencies; near half the rate, where an analogue response
 * has a slope that no digital one can have at that point, two to six zeros more are spent.
 */
import { type Biquad, biquadGain } from '../signal/k-weighting.ts';
import { leastSquares } from '../signal/least-squares.ts';
import { type AnalogueSection, analoguePower } from './analogue.ts';
import { type Complex, polynomialRoots } from './polynomial-roots.ts';

/** The match is sought up to this share of half the sample rate: 20 kHz at 44.1 kHz. */
export const matchedShare = 20000 / 22050;
/** Good enough to spend no more zeros, dB. */
const closeDb = 0.02;
/** Poles no nearer to half the sample rate than this angle. */
const steepestAngle = 0.97 * Math.PI;

/** One analogue section as a row of biquads. */
export function matchSection(section: AnalogueSection, sampleRate: number): Biquad[] {
  const poles = polePolynomial(section, sampleRate);
  const zerosAtDc = section.b[0] !== 0 ? 0 : section.b[1] !== 0 ? 1 : 2;
  let best: { readonly row: Biquad[]; readonly errorDb: number } | null = null;
  for (const extra of [0, 2, 4, 6]) {
    const row = fitZeros(section, poles, zerosAtDc, 2 - zerosAtDc + extra, sampleRate);
    if (!row) continue;
    const errorDb = worstErrorDb(row, section, sampleRate);
    if (!best || errorDb < best.errorDb) best = { row, errorDb };
    if (errorDb < closeDb) break;
  }
  if (!best)
    throw new RangeError(`no digital filter found for ${JSON.stringify(section)} at ${sampleRate} Hz`);
  return best.row;
}

/** a1, a2 of the poles. */
function polePolynomial({ hertz, a }: AnalogueSection, sampleRate: number): readonly [number, number] {
  const step = (2 * Math.PI * hertz) / sampleRate;
  if (a[2] === 0) return [-Math.exp((-a[0] / a[1]) * step), 0];
  const middle = a[1] / (2 * a[2]);
  const apart = middle * middle - a[0] / a[2];
  if (apart >= 0) {
    const root = Math.sqrt(apart);
    const fast = Math.exp(-(middle + root) * step);
    // The slow one by way of the product, which loses no digits.
    const slow = Math.exp((-a[0] / a[2] / (middle + root)) * step);
    return [-(fast + slow), fast * slow];
  }
  const radius = Math.exp(-middle * step);
  return [-2 * radius * Math.cos(Math.min(steepestAngle, Math.sqrt(-apart) * step)), radius * radius];
}

/** |1 + a1 z^-1 + a2 z^-2|^2 in phi = sin^2(w/2), exact also near 0. */
function polePower([a1, a2]: readonly [number, number], phi: number): number {
  return (1 + a1 + a2) ** 2 - 4 * (a1 + 4 * a2 + a1 * a2) * phi + 16 * a2 * phi * phi;
}

/** Angles to fit at: even over the range, dense around the section's own frequency and below; few beyond. */
function fitAngles({ hertz }: AnalogueSection, sampleRate: number): { angle: number; weight: number }[] {
  const edge = matchedShare * Math.PI;
  const own = Math.min(edge, (2 * Math.PI * hertz) / sampleRate);
  // Denser towards the edge, where a fit goes astray first.
  const points = Array.from({ length: 48 }, (_, i) => ({
    angle: edge * Math.sin((Math.PI * (i + 1)) / 96),
    weight: 1,
  }));
  for (let i = -40; i <= 24; i++) {
    const angle = own * 2 ** (i / 8);
    if (angle < edge) points.push({ angle, weight: 1 });
  }
  for (let i = 1; i <= 6; i++) points.push({ angle: edge + ((Math.PI - edge) * i) / 6, weight: 0.004 });
  return points;
}

/** `count` zeros beside those at DC, fitted; null when the best squared magnitude is none (negative somewhere). */
function fitZeros(
  section: AnalogueSection,
  poles: readonly [number, number],
  zerosAtDc: number,
  count: number,
  sampleRate: number,
): Biquad[] | null {
  const points = fitAngles(section, sampleRate).map(({ angle, weight }) => {
    const phi = Math.sin(angle / 2) ** 2;
    const power = analoguePower(section, (angle * sampleRate) / (2 * Math.PI));
    return { phi, weight, wanted: (power * polePower(poles, phi)) / (4 * phi) ** zerosAtDc };
  });
  const rows = points.map(({ phi, weight, wanted }) =>
    Array.from({ length: count + 1 }, (_, k) => (weight * phi ** k) / wanted),
  );
  let power = leastSquares(
    rows,
    points.map(({ weight }) => weight),
  );
  const valueAt = (phi: number) => power.reduceRight((sum, c) => sum * phi + c, 0);
  if (points.some(({ phi }) => valueAt(phi) <= 0) || valueAt(0) < 0) return null;
  while (power.length > 1 && Math.abs(power[power.length - 1]) < 1e-14 * Math.max(...power.map(Math.abs)))
    power = power.slice(0, -1);
  const zeros = polynomialRoots(power).map(insideUnitCircle);
  const quadratics = pairUp(zeros);
  for (let k = 0; k < zerosAtDc; k++) multiplyIn(quadratics, [1, -1, 0]);
  const row = quadratics.map(
    ([b0, b1, b2], i): Biquad => ({
      b0,
      b1,
      b2,
      a1: i === 0 ? poles[0] : 0,
      a2: i === 0 ? poles[1] : 0,
    }),
  );
  // The level, where the fit is asked to be good and the response is not near nothing.
  const loudest = points.reduce((best, point) =>
    point.weight === 1 &&
    point.wanted * (4 * point.phi) ** zerosAtDc > best.wanted * (4 * best.phi) ** zerosAtDc
      ? point
      : best,
  );
  const hertz = (Math.asin(Math.sqrt(loudest.phi)) * sampleRate) / Math.PI;
  const now = row.reduce((product, filter) => product * biquadGain(filter, hertz, sampleRate), 1);
  const fitted = (valueAt(loudest.phi) * (4 * loudest.phi) ** zerosAtDc) / polePower(poles, loudest.phi);
  const gain = Math.sqrt(fitted) / now;
  row[0] = { ...row[0], b0: row[0].b0 * gain, b1: row[0].b1 * gain, b2: row[0].b2 * gain };
  return row;
}

/** The z inside the unit circle with (2 - z - 1/z) / 4 = phi. */
function insideUnitCircle(phi: Complex): Complex {
  // z = 1 - 2 phi +- 2 sqrt(phi^2 - phi)
  const re = phi.re * phi.re - phi.im * phi.im - phi.re;
  const im = 2 * phi.re * phi.im - phi.im;
  const size = Math.hypot(re, im);
  const rootRe = Math.sqrt(Math.max(0, (size + re) / 2));
  const rootIm = (im < 0 ? -1 : 1) * Math.sqrt(Math.max(0, (size - re) / 2));
  const plus = { re: 1 - 2 * phi.re + 2 * rootRe, im: -2 * phi.im + 2 * rootIm };
  const minus = { re: 1 - 2 * phi.re - 2 * rootRe, im: -2 * phi.im - 2 * rootIm };
  return Math.hypot(plus.re, plus.im) <= Math.hypot(minus.re, minus.im) ? plus : minus;
}

type Quadratic = [number, number, number];

/** Zeros as factors 1 + c1 z^-1 + c2 z^-2: conjugates together, real ones two by two. */
function pairUp(zeros: readonly Complex[]): Quadratic[] {
  const isReal = ({ re, im }: Complex) => Math.abs(im) < 1e-9 * Math.max(1e-3, Math.abs(re));
  const real = zeros.filter(isReal).map(({ re }) => re);
  const upper = zeros.filter((zero) => !isReal(zero) && zero.im > 0);
  const factors = upper.map(({ re, im }): Quadratic => [1, -2 * re, re * re + im * im]);
  for (let i = 0; i + 1 < real.length; i += 2)
    factors.push([1, -(real[i] + real[i + 1]), real[i] * real[i + 1]]);
  if (real.length % 2 === 1) factors.push([1, -real[real.length - 1], 0]);
  if (factors.length === 0) factors.push([1, 0, 0]);
  return factors;
}

/** Multiplies a first-order factor into the first that has room, or adds one. */
function multiplyIn(factors: Quadratic[], [, zero]: Quadratic): void {
  const room = factors.findIndex(([, , c2]) => c2 === 0);
  if (room < 0) factors.push([1, zero, 0]);
  else {
    const [c0, c1] = factors[room];
    factors[room] = [c0, c1 + c0 * zero, c1 * zero];
  }
}

/** Largest difference from the analogue magnitude, dB, where that is above -60 dB. */
function worstErrorDb(row: readonly Biquad[], section: AnalogueSection, sampleRate: number): number {
  return fitAngles(section, sampleRate).reduce((worst, { angle, weight }) => {
    if (weight < 1) return worst;
    const hertz = (angle * sampleRate) / (2 * Math.PI);
    const wanted = 10 * Math.log10(analoguePower(section, hertz));
    if (wanted < -60) return worst;
    const got = row.reduce((sum, filter) => sum + 20 * Math.log10(biquadGain(filter, hertz, sampleRate)), 0);
    return Math.max(worst, Math.abs(got - wanted));
  }, 0);
}
