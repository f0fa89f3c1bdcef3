import type { Selectable } from 'kysely';
import type { FileReport, Severity } from '../judge/file-report.ts';
import type { PlaceLevel } from '../judge/places-report.ts';
import type { SurviveReport } from '../survive/survive-report.ts';
import type { JobRow, VersionRow } from './store/tables.ts';

/** What the bench answers with; the server's schemas describe the same to the outside. Times are ISO 8601, UTC. */
export type VersionKind = VersionRow['kind'];

export interface Job {
  readonly id: string;
  readonly versionId: string;
  readonly kind: Selectable<JobRow>['kind'];
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
  /** The newest check of it. */
  readonly job: Job | null;
}

/** What a survive run is asked for. */
export interface SurviveSettings {
  /** Ids of the formats, as findFormat knows them. */
  readonly formatIds: readonly string[];
  /** Highest level allowed after decoding, dBTP. */
  readonly limitDbtp: number;
  /** Whether the least trim is searched with further encodes. */
  readonly findCeiling: boolean;
}

/** What a song in places is asked for. */
export interface PlacesSettings {
  readonly level: PlaceLevel;
  /** null: all there are. */
  readonly placeIds: readonly string[] | null;
  readonly setId: string | null;
  readonly referenceIds: readonly string[];
  /** A version that is only the lead, or all but the lead; at most one of them. */
  readonly leadVersionId: string | null;
  readonly instrumentalVersionId: string | null;
}

/** Where the question of lossy coding stands for one version. */
export interface Survival {
  /** The newest survive run. */
  readonly job: Job | null;
  /** What the report was made with; null before there is one. */
  readonly settings: SurviveSettings | null;
  /** What is known so far: the first estimate, the formats that have ended; null before anything is. */
  readonly report: SurviveReport | null;
  /** Whether the report is that of a run that came to its end. */
  readonly complete: boolean;
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
