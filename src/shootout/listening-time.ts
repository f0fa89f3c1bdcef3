/** How long listening takes, to keep a session short. */
export interface ListeningPace {
  /** How often each sound of a round is heard, on the mean (heuristic: once through and half again). */
  readonly timesHeard: number;
  /** Reading the question, deciding, answering, s (heuristic). */
  readonly secondsToAnswer: number;
}

export const usualPace: ListeningPace = { timesHeard: 1.5, secondsToAnswer: 5 };

/** Longest session: after about 20 minutes ears and patience are worn out (common practice in listening tests). */
export const longestSessionSeconds = 20 * 60;

/** Seconds that a round of `sounds` excerpts takes. */
export function roundSeconds(
  sounds: number,
  excerptSeconds: number,
  pace: ListeningPace = usualPace,
): number {
  return sounds * excerptSeconds * pace.timesHeard + pace.secondsToAnswer;
}

/** Rounds that fit a session; 0 where not even one does. */
export function roundsThatFit(
  sounds: number,
  excerptSeconds: number,
  limitSeconds = longestSessionSeconds,
  pace: ListeningPace = usualPace,
): number {
  return Math.max(0, Math.floor(limitSeconds / roundSeconds(sounds, excerptSeconds, pace)));
}
