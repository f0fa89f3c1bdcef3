import type { AlbumPlan } from './assembly/album-plan.ts';
import type { Side } from './assembly/sides.ts';
import type { RecordConsistency } from './consistency.ts';
import type { Check, FoundFile } from './proof/contract.ts';
import type { ReleaseRecord } from './record/record.ts';
import type { RecordFinding } from './record/record-check.ts';

/** Something that was not met and that somebody took on. */
export interface Exception {
  readonly check: string;
  readonly by: string;
  readonly why: string;
}

/** One delivered file and the proof of it. */
export interface ProvenFile {
  readonly name: string;
  readonly profileId: string;
  readonly title: string;
  readonly frames: number;
  readonly sampleRate: number;
  readonly dithered: boolean;
  /** null before it is made. */
  readonly found: FoundFile | null;
  readonly checks: readonly Check[];
}

/** What is known of a delivery: planned, made, or done. Plain JSON. */
export interface DeliveryResult {
  /** planned: nothing was written. refused: something is not met. done: every file is in its place and proven. */
  readonly state: 'planned' | 'refused' | 'done';
  readonly record: ReleaseRecord;
  readonly files: readonly ProvenFile[];
  readonly texts: readonly { readonly name: string; readonly text: string }[];
  readonly findings: readonly RecordFinding[];
  /** Ids of what is not met and not taken on ('isrc@3', 'true-peak@cd/Lanterns.wav'). */
  readonly open: readonly string[];
  readonly exceptions: readonly Exception[];
  readonly consistency: RecordConsistency;
  /** How the record plays, at the rate of the first profile that holds it. */
  readonly plan: AlbumPlan | null;
  /** How it lies on a disc, where it is delivered for one. */
  readonly disc: AlbumPlan | null;
  readonly sides: { readonly sides: readonly Side[]; readonly sampleRate: number } | null;
  readonly turnedDown: readonly { readonly profileId: string; readonly gainDb: number }[];
  readonly seconds: number;
}

/** What stands between a delivery and being done, and what was taken on. */
export function openPoints(
  record: ReleaseRecord,
  findings: readonly RecordFinding[],
  files: readonly Pick<ProvenFile, 'name' | 'checks'>[],
): { readonly open: string[]; readonly exceptions: Exception[] } {
  const wrong = [
    ...findings.filter(({ weight }) => weight === 'must').map(({ id }) => id),
    ...files.flatMap(({ name, checks }) =>
      checks.filter(({ passed }) => !passed).map(({ id }) => `${id}@${name}`),
    ),
  ];
  const taken = new Map(record.accepted.map((exception) => [exception.check, exception]));
  return {
    open: wrong.filter((id) => !taken.has(id)),
    exceptions: wrong.flatMap((id) => taken.get(id) ?? []),
  };
}
