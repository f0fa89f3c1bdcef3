/**
 * Band-limited interpolation: the waveform between samples, as a sum of samples times a windowed sinc.
 * Window: Kaiser (J. F. Kaiser, 'Nonrecursive digital filter design using the I0-sinh window function', 1974;
 * from memory).
 */

/** Modified Bessel function of the first kind and order 0, by its power series; x >= 0. */
function besselI0(x: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}

/** Kaiser window at `position` in [-1, 1] (0 is the middle); 0 outside. */
export function kaiser(position: number, beta: number): number {
  const inside = 1 - position * position;
  return inside < 0 ? 0 : besselI0(beta * Math.sqrt(inside)) / besselI0(beta);
}

/** sin(pi x) / (pi x). */
export function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

/**
 * Filters that give the waveform at n + p/factor for p = 0..factor-1: phase p times the samples
 * x[n - taps/2 + 1] .. x[n + taps/2]. Phase 0 is the sample itself; every phase passes DC unchanged.
 *
 * @param taps even number of samples that each value is made from
 * @param beta Kaiser's shape parameter: larger is cleaner and less sharp
 * @returns one Float64Array of `taps` coefficients a phase
 */
export function interpolationPhases(factor: number, taps: number, beta: number): Float64Array[] {
  return Array.from({ length: factor }, (_, p) => {
    const phase = new Float64Array(taps);
    for (let k = 0; k < taps; k++) {
      const distance = p / factor + taps / 2 - 1 - k;
      phase[k] = p === 0 ? Number(distance === 0) : sinc(distance) * kaiser(distance / (taps / 2), beta);
    }
    const dcGain = phase.reduce((sum, value) => sum + value, 0);
    return phase.map((value) => value / dcGain);
  });
}
