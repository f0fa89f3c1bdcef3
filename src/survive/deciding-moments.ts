import type { FormatSurvival, Moment } from './survive-report.ts';

/** Peaks closer than this are one moment to a listener (heuristic). */
const apartSeconds = 0.5;
const told = 8;

interface Candidate {
  readonly atSeconds: number;
  readonly endSeconds: number;
  readonly peakDbtp: number;
  readonly format: string;
}

/**
 * The few moments that decide: the highest peaks of all formats, near ones taken together, with the formats that pass
 * the limit there; when none does, the highest all the same. The highest first, at most 8.
 */
export function decidingMoments(
  formats: readonly Pick<FormatSurvival, 'format' | 'overSpans' | 'peakMoments'>[],
  limitDbtp: number,
): Moment[] {
  const candidates = formats
    .flatMap(({ format, overSpans, peakMoments }): Candidate[] => [
      ...peakMoments.map(({ atSeconds, peakDbtp }) => ({
        atSeconds,
        endSeconds: atSeconds,
        peakDbtp,
        format,
      })),
      ...overSpans.map(({ startSeconds, endSeconds, peakDbtp }) => ({
        atSeconds: startSeconds,
        endSeconds,
        peakDbtp,
        format,
      })),
    ])
    .sort((a, b) => b.peakDbtp - a.peakDbtp || a.atSeconds - b.atSeconds);
  const moments: { heart: number; members: Candidate[] }[] = [];
  for (const candidate of candidates) {
    const near = moments.find(({ heart }) => Math.abs(heart - candidate.atSeconds) < apartSeconds);
    if (near) near.members.push(candidate);
    else if (moments.length < told) moments.push({ heart: candidate.atSeconds, members: [candidate] });
  }
  return moments
    .map(({ members }) => ({
      startSeconds: Math.min(...members.map(({ atSeconds }) => atSeconds)),
      endSeconds: Math.max(...members.map(({ endSeconds }) => endSeconds)),
      peakDbtp: members[0].peakDbtp,
      formats: [
        ...new Set(members.filter(({ peakDbtp }) => peakDbtp > limitDbtp).map(({ format }) => format)),
      ],
    }))
    .filter(
      ({ formats: over }, _i, all) => over.length > 0 || all.every((each) => each.formats.length === 0),
    );
}
