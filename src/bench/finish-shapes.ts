import type { Chain } from '../finish/chain.ts';
import type { WrittenBits } from '../finish/finish-plan.ts';
import type { FinishGoals } from './finish-file.ts';
import type { Job, VersionKind } from './shapes.ts';
import type { Draft, Making } from './store/finishings.ts';
import { chosenFormats } from './survive-version.ts';

/** Goals as they are asked for and kept: formats by their ids. */
export interface AskedGoals {
  readonly loudnessLufs?: number;
  readonly ceilingDbtp?: number;
  readonly survive?: { readonly formatIds: readonly string[]; readonly limitDbtp: number };
  readonly bits?: WrittenBits;
}

/** What a finishing of a version is asked for. */
export interface FinishAsked {
  readonly chain: Chain;
  readonly goals: AskedGoals;
  /** What the new version is called; made up when left out. */
  readonly name?: string;
  readonly kind: VersionKind;
  readonly chainId?: string;
}

/** What a loudness choice is asked for. */
export interface LoudnessAsked {
  readonly chain: Chain;
  /** LUFS. */
  readonly candidates: readonly number[];
  readonly goals: Pick<AskedGoals, 'ceilingDbtp' | 'bits'>;
}

/** Where the finishing of one version stands. */
export interface FinishingState {
  readonly job: Job | null;
  readonly loudnessJob: Job | null;
  readonly made: readonly Making[];
  readonly drafts: readonly Draft[];
}

/** CodedError REQUEST_INVALID for a format that does not exist. */
export function readGoals({ survive, ...goals }: AskedGoals): FinishGoals {
  if (!survive) return goals;
  return { ...goals, survive: { formats: chosenFormats(survive.formatIds), limitDbtp: survive.limitDbtp } };
}
