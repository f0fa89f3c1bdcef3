/** A loudness that playback is brought to, and who says so: an id of docs/sources.md. */
export interface NormalisationTarget {
  readonly targetLufs: number;
  readonly source: string;
}

/**
 * Published targets. -14 and -16 LUFS: AES TD1008 (the loudest song of a record, and song by song); -23 LUFS:
 * EBU R 128, broadcasting.
 */
export const normalisationTargets: readonly NormalisationTarget[] = [
  { targetLufs: -14, source: 'aes-td-1008' },
  { targetLufs: -16, source: 'aes-td-1008' },
  { targetLufs: -23, source: 'ebu-r-128' },
];
