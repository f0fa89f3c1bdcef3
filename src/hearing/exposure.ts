/** A stretch of listening: sound was heard in it. */
export interface Stretch {
  /** When it ended, ms since 1970. */
  readonly endedMs: number;
  readonly seconds: number;
  /** Mean A-weighted level at the ear, dB SPL; null where it is not known. */
  readonly splDb: number | null;
}

export type Listener = 'adult' | 'sensitive';

export interface Allowance {
  /** dBA. */
  readonly splDb: number;
  readonly seconds: number;
}

/**
 * A week's allowance: 80 dBA for 40 h (mode 1, adults), 75 dBA for 40 h (mode 2, sensitive listeners, children).
 * WHO–ITU: ITU-T H.870 (2018, 2022), tables of sound allowance (from memory). Equal energy: 3 dB more is half the time.
 */
export const weeklyAllowance: Readonly<Record<Listener, Allowance>> = {
  adult: { splDb: 80, seconds: 40 * 3600 },
  sensitive: { splDb: 75, seconds: 40 * 3600 },
};

/**
 * A day's allowance: 85 dBA for 8 h, 3 dB exchange rate. NIOSH publication 98-126 (1998), recommended exposure limit (from
 * memory). Made for noise at work, not for music; used here as a second opinion on one long day.
 */
export const dailyAllowance: Allowance = { splDb: 85, seconds: 8 * 3600 };

/** A pause of this length is a break, s (heuristic). */
export const breakSeconds = 5 * 60;
const weekMs = 7 * 24 * 3600 * 1000;

export interface Heard {
  /** Listened in the window, s. */
  readonly seconds: number;
  /** Share of the allowance used, 0 and up; null where no level is known. Stretches of unknown level are left out. */
  readonly shareOfAllowance: number | null;
}

export interface Exposure {
  /** The last seven days against the weekly allowance. */
  readonly week: Heard;
  /** Today against the daily one. */
  readonly today: Heard;
  /** Listened without a break, up to now, s; 0 during a break. */
  readonly sinceBreakSeconds: number;
  /** Listened without a break before the last one, s; 0 when there was none. */
  readonly beforeBreakSeconds: number;
  /** Level of the last stretch while it is not older than a minute, dB SPL. */
  readonly latestSplDb: number | null;
}

/**
 * What was heard, against what is allowed.
 * @param stretches in any order, not overlapping
 * @param nowMs now, and the beginning of the listener's day, ms since 1970
 */
export function exposureOf(
  stretches: readonly Stretch[],
  { nowMs, dayStartMs, listener }: { nowMs: number; dayStartMs: number; listener: Listener },
): Exposure {
  const inOrder = [...stretches].sort((a, b) => a.endedMs - b.endedMs);
  const latest = inOrder.at(-1);
  return {
    week: heardSince(inOrder, nowMs - weekMs, weeklyAllowance[listener]),
    today: heardSince(inOrder, dayStartMs, dailyAllowance),
    ...withoutBreak(inOrder, nowMs),
    latestSplDb: latest && nowMs - latest.endedMs <= 60_000 ? latest.splDb : null,
  };
}

/** How long one may listen at a level before an allowance is used up, s. */
export function secondsAllowed(splDb: number, { splDb: allowedDb, seconds }: Allowance): number {
  return seconds / 10 ** ((splDb - allowedDb) / 10);
}

function heardSince(stretches: readonly Stretch[], fromMs: number, allowance: Allowance): Heard {
  let [seconds, share, known] = [0, 0, 0];
  for (const { endedMs, seconds: length, splDb } of stretches) {
    const inside = Math.max(0, Math.min(length, (endedMs - fromMs) / 1000));
    seconds += inside;
    if (splDb === null || inside === 0) continue;
    known++;
    share += inside / secondsAllowed(splDb, allowance);
  }
  return { seconds, shareOfAllowance: known > 0 ? share : null };
}

function withoutBreak(
  inOrder: readonly Stretch[],
  nowMs: number,
): Pick<Exposure, 'sinceBreakSeconds' | 'beforeBreakSeconds'> {
  // Runs of listening, last first; the first is what leads up to now, and empty during a break.
  const runs = [0];
  let nextMs = nowMs;
  for (const { endedMs, seconds } of inOrder.toReversed()) {
    if (nextMs - endedMs >= breakSeconds * 1000) runs.push(0);
    runs[runs.length - 1] += seconds;
    nextMs = Math.min(nextMs, endedMs - seconds * 1000);
  }
  return { sinceBreakSeconds: runs[0], beforeBreakSeconds: runs[1] ?? 0 };
}
