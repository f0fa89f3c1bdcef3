/** 1.5 dB more for sound from the sides. */
const side = 1.41;

/** By number of channels, in WAVE order (Microsoft's WAVE_FORMAT_EXTENSIBLE channel mask order, from memory). */
const byCount: readonly (readonly number[])[] = [
  [],
  [1], // M
  [1, 1], // L R
  [1, 1, 1], // L R C
  [1, 1, side, side], // L R Ls Rs
  [1, 1, 1, side, side], // L R C Ls Rs
  [1, 1, 1, 0, side, side], // L R C LFE Ls Rs
  [1, 1, 1, 0, 1, side, side], // L R C LFE back, side left, side right
  [1, 1, 1, 0, 1, 1, side, side], // L R C LFE back left, back right, side left, side right
];

/**
 * How much the power of each channel counts towards loudness. ITU-R BS.1770-5: Annex 1 Table 3 for up to 5.1
 * (surround 1.41, LFE left out); Annex 3 Table 4 beyond (1.41 between 60 and 120 degrees to the side, 1
 * elsewhere); both tables from memory. A file rarely says where more than eight channels stand: each counts 1.
 */
export function channelWeights(channels: number): readonly number[] {
  return byCount[channels] ?? new Array<number>(channels).fill(1);
}
