import type { VersionAlignment } from '../compare/change-result.ts';
import type { Span } from '../measure/span.ts';

/** A master as it lies against the mix, whose clock is the shared timeline. */
export interface LaidMaster {
  readonly sampleRate: number;
  readonly alignment: VersionAlignment;
  /** What the mix and this master both have, s in the mix's time. */
  readonly shared: Span;
}

/** A section on the shared timeline, the same for every master. */
export interface FairSection {
  readonly startSeconds: number;
  readonly endSeconds: number;
  readonly frames: number;
}

/** Where a section lies in one master. */
export interface Cut {
  /** The master's sample, fractional, at the section's first frame. */
  readonly start: number;
  /** Clock drift of the master: how much faster it is walked through than the two rates say. */
  readonly drift: number;
}

export interface FairPlan {
  /** Of all cuts, Hz. */
  readonly sampleRate: number;
  readonly sections: readonly FairSection[];
  /** cuts[master][section] */
  readonly cuts: readonly (readonly Cut[])[];
  /** What all masters have, s in the mix's time; null when nothing. */
  readonly common: Span | null;
  /** Sections that were asked for and left out, because not every master has enough of them. */
  readonly leftOut: readonly Span[];
}

/** Below this drift nothing moves by a sample within a section: whole frames are cut. As in comparing versions. */
const steadyPpm = 1;
/** Shorter sections tell nothing and have no settled loudness (heuristic). */
export const shortestSectionSeconds = 3;
const lowestRate = 44_100;

/**
 * Which samples of each master make up the sections, on the mix's clock: offset, drift and rate are put right, and
 * masters of the shared rate without drift are cut at whole frames, so that not one of their samples changes. Sections are
 * kept to what all masters have. The shared rate is the one most masters have (the lower of two as frequent; at least
 * 44.1 kHz), so that as few as can be are converted.
 */
export function fairPlan(
  masters: readonly LaidMaster[],
  sections: readonly Span[],
  sampleRate = sharedRate(masters.map((master) => master.sampleRate)),
): FairPlan {
  const start = Math.max(...masters.map(({ shared }) => shared.startSeconds));
  const end = Math.min(...masters.map(({ shared }) => shared.endSeconds));
  const common = end > start ? { startSeconds: start, endSeconds: end } : null;
  const kept: FairSection[] = [];
  const leftOut: Span[] = [];
  for (const section of sections) {
    const first = Math.ceil(Math.max(start, section.startSeconds) * sampleRate);
    const last = Math.floor(Math.min(end, section.endSeconds) * sampleRate);
    if (last - first < shortestSectionSeconds * sampleRate) leftOut.push(section);
    else kept.push({ startSeconds: first / sampleRate, endSeconds: last / sampleRate, frames: last - first });
  }
  const cuts = masters.map((master) => kept.map((section) => cutOf(master, section, sampleRate)));
  return { sampleRate, sections: kept, cuts, common, leftOut };
}

function cutOf(master: LaidMaster, { startSeconds, endSeconds }: FairSection, sampleRate: number): Cut {
  const { offsetSeconds, driftPpm } = master.alignment;
  const inMaster = (seconds: number) => (seconds * (1 + driftPpm * 1e-6) + offsetSeconds) * master.sampleRate;
  if (Math.abs(driftPpm) >= steadyPpm) return { start: inMaster(startSeconds), drift: driftPpm * 1e-6 };
  // Steady: level in the middle of the section.
  const middle =
    inMaster((startSeconds + endSeconds) / 2) - ((endSeconds - startSeconds) / 2) * master.sampleRate;
  return { start: master.sampleRate === sampleRate ? Math.round(middle) : middle, drift: 0 };
}

function sharedRate(rates: readonly number[]): number {
  const count = (rate: number) => rates.filter((other) => other === rate).length;
  const sorted = [...rates].sort((a, b) => count(b) - count(a) || a - b);
  return Math.max(lowestRate, sorted[0] ?? lowestRate);
}
