import type { FileReport, Severity } from '../judge/file-report.ts';
import type { JobRow, VersionRow } from './store/tables.ts';

/** What the bench answers with; the server's schemas describe the same to the outside. Times are ISO 8601, UTC. */
export type VersionKind = VersionRow['kind'];

export interface Job {
  readonly id: string;
  readonly versionId: string;
  readonly state: JobRow['state'];
  /** What is being done now, for people. */
  readonly stage: string;
  /** 0..1 */
  readonly progress: number;
  readonly error: { readonly code: string; readonly message: string } | null;
  readonly createdAt: string;
}

/** A report in short. */
export interface Verdict {
  readonly headline: string;
  readonly worst: Severity;
  readonly mendCount: number;
  readonly lookCount: number;
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly plrDb: number | null;
  readonly seconds: number;
}

export interface Version {
  readonly id: string;
  readonly songId: string;
  readonly name: string;
  readonly kind: VersionKind;
  readonly sha256: string;
  readonly bytes: number;
  readonly addedAt: string;
  readonly verdict: Verdict | null;
  /** The newest job on it. */
  readonly job: Job | null;
}

export interface Song {
  readonly id: string;
  readonly title: string;
  readonly demo: boolean;
  readonly changedAt: string;
  /** Oldest first. */
  readonly versions: Version[];
}

export function verdictOf(report: FileReport): Verdict {
  const count = (severity: Severity): number => report.findings.filter((f) => f.severity === severity).length;
  const mendCount = count('mend');
  const lookCount = count('look');
  return {
    headline: report.headline,
    worst: mendCount > 0 ? 'mend' : lookCount > 0 ? 'look' : 'fine',
    mendCount,
    lookCount,
    integratedLufs: report.loudness.integratedLufs,
    truePeakDbtp: report.peak.truePeakDbtp,
    plrDb: report.peak.plrDb,
    seconds: report.file.seconds,
  };
}
