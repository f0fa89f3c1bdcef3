/** ITU-R BS.1770-5 and EBU Tech 3341/3342. A value is null where the sound is too short or too quiet for it; `reason` says why. */
export interface LoudnessResult {
  readonly integratedLufs: number | null;
  readonly rangeLu: number | null;
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
  /** Why a value is null; null when none is. */
  readonly reason: string | null;
}

/**
 * Momentary (400 ms) and short-term (3 s) loudness, a value every `stepSeconds` (0.1 s), each at the END of its window:
 * value i belongs to the window that ends at (i + 1) * stepSeconds. null before the first full window and in silence.
 */
export interface LoudnessTrace {
  readonly stepSeconds: number;
  readonly momentaryLufs: readonly (number | null)[];
  readonly shortTermLufs: readonly (number | null)[];
  /**
   * K-weighted power of each complete step, channels weighted and added, seven digits: the loudness of any span comes
   * from these without another pass (spanLoudness in loudness-detail.ts).
   */
  readonly stepPowers: readonly number[];
}
