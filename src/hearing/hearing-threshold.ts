/** Third octaves, Hz, of the diffuse-field threshold. */
const diffuseHz = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
  2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000,
];
/** ISO 389-7:2019, Table 1, diffuse field, dB SPL; read in an open library that transcribes it. */
const diffuseDb = [
  78.1, 68.7, 59.5, 51.1, 44, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.4, 5.8, 3.8, 2.1, 1, 0.8, 1.9, 0.5,
  -1.5, -3.1, -4, -3.8, -1.8, 2.5, 6.8, 8.4, 14.4, 43.7,
];
/** The same, free field with frontal incidence: the thresholds of ISO 226:2023, and three frequencies more. */
const freeHz = [...diffuseHz.slice(0, 17), 750, 1000, 1250, 1500, ...diffuseHz.slice(19), 18000].sort(
  (a, b) => a - b,
);
const freeDb = new Map([
  ...[
    78.1, 68.7, 59.5, 51.1, 44, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.6, 6.2, 4.4, 3, 2.2, 2.4, 3.5,
    1.7, -1.3, -4.2, -6, -5.4, -1.5, 6, 12.6, 13.9, 12.3, 40.2,
  ].map((db, i) => [diffuseHz[i], db] as const),
  [750, 2.4],
  [1500, 2.4],
  [18000, 70.4],
]);

export type SoundField = 'free' | 'diffuse';

/**
 * Reference threshold of hearing of otologically normal people of 18 to 25 years, binaural, dB SPL. ISO 389-7:2019; between
 * its frequencies interpolated over log frequency. Throws RangeError below 20 Hz and above 18 kHz (16 kHz in a diffuse field).
 */
export function hearingThresholdDb(hertz: number, field: SoundField): number {
  const grid = field === 'free' ? freeHz : diffuseHz;
  const at = (i: number) => (field === 'free' ? freeDb.get(freeHz[i])! : diffuseDb[i]);
  const last = grid.length - 1;
  if (!(hertz >= grid[0] && hertz <= grid[last]))
    throw new RangeError(
      `the threshold of hearing is known from 20 Hz to ${grid[last]} Hz, not at ${hertz} Hz`,
    );
  let i = 0;
  while (i < last - 1 && hertz > grid[i + 1]) i++;
  const share = Math.log(hertz / grid[i]) / Math.log(grid[i + 1] / grid[i]);
  return at(i) + share * (at(i + 1) - at(i));
}
