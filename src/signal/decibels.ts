/** Amplitude ratio to decibels: 20*log10(x). 0 gives -Infinity. */
export function amplitudeToDb(amplitude: number): number {
  return 20 * Math.log10(amplitude);
}

/** Power (mean square) ratio to decibels: 10*log10(x). 0 gives -Infinity. */
export function powerToDb(power: number): number {
  return 10 * Math.log10(power);
}
