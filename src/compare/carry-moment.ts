import type { VersionChange } from './change-result.ts';

/** Why a moment of one version may have no place in another. */
export type CarryDoubt = 'before' | 'after' | 'unlike' | 'other-song';

export interface CarriedMoment {
  /** In the later version's time, never before its beginning. */
  readonly seconds: number;
  readonly doubt: CarryDoubt | null;
}

/** Rounding at the ends that is no doubt, s. */
const slackSeconds = 0.05;

/**
 * Where a moment of the version that `change` starts from lies in the one it leads to.
 * @param seconds in the earlier version's time
 * @param length of the later version, s; null when not known
 */
export function carryMoment(
  { same }: Pick<VersionChange, 'same'>,
  seconds: number,
  length: number | null,
): CarriedMoment {
  if (same === null) return { seconds: within(seconds, length), doubt: 'other-song' };
  const { offsetSeconds, driftPpm } = same.alignment;
  const at = seconds * (1 + driftPpm * 1e-6) + offsetSeconds;
  const doubt = (): CarryDoubt | null => {
    if (at < -slackSeconds) return 'before';
    if (length !== null && at > length + slackSeconds) return 'after';
    if (same.unlike.some(({ startSeconds, endSeconds }) => seconds >= startSeconds && seconds < endSeconds))
      return 'unlike';
    return null;
  };
  return { seconds: within(at, length), doubt: doubt() };
}

function within(seconds: number, length: number | null): number {
  return Math.max(0, length === null ? seconds : Math.min(length, seconds));
}
