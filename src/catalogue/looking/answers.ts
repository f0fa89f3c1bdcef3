import type { SongState } from '../store/tables.ts';

/** How many songs of a run are where. */
export interface RunCounts extends Record<SongState, number> {
  readonly total: number;
  readonly mend: number;
  readonly look: number;
  readonly fine: number;
  /** Of those done: measured in this run; the others were known. */
  readonly measured: number;
}

export interface RuleCount {
  readonly rule: string;
  readonly severity: 'mend' | 'look';
  readonly songs: number;
  /** What it said of one of them. */
  readonly title: string;
}

export interface FaultCount {
  readonly code: string;
  readonly songs: number;
}

export interface RunningWorker {
  readonly machine: string;
  readonly songs: number;
}
