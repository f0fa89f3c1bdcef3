import type { VersionChange } from '../compare/change-result.ts';
import { isUpsideDown } from './fair-cut.ts';

/** Whether a file that came back is a master of the mix that was sent out. */
export type Recognition =
  | {
      readonly accepted: true;
      /** What was found out of the ordinary, in plain sentences; what can be put right will be. */
      readonly notes: readonly string[];
    }
  | { readonly accepted: false; readonly reason: string };

/**
 * Least similarity (heuristic): 100 masters driven up to 9-fold into saturation came out at 0.7 and more, other songs below
 * 0.15 (measured, docs/measurements.md).
 */
const leastSimilarity = 0.5;
/** Least of the mix that must be there (heuristic). */
const leastShare = 0.5;
/** Most of what both have that may be another sound: an edit, another take (heuristic). */
const mostUnlike = 0.25;
const worthTellingPpm = 1;

/** @param mixSeconds length of the mix */
export function recogniseMaster(change: VersionChange, mixSeconds: number): Recognition {
  const { same, similarity } = change;
  if (same === null)
    return { accepted: false, reason: `This is not a master of that mix. ${change.reason ?? ''}`.trim() };
  if (similarity < leastSimilarity)
    return {
      accepted: false,
      reason: `Only ${percent(similarity)} of what the mix plays is found in it: it looks like another mix or another take.`,
    };
  const { alignment, length, unlike } = same;
  const shared = length.shared.endSeconds - length.shared.startSeconds;
  if (shared < leastShare * mixSeconds)
    return { accepted: false, reason: `It holds only ${percent(shared / mixSeconds)} of the mix.` };
  const unlikeSeconds = unlike.reduce(
    (sum, { startSeconds, endSeconds }) => sum + endSeconds - startSeconds,
    0,
  );
  if (unlikeSeconds > mostUnlike * shared)
    return {
      accepted: false,
      reason: `In ${percent(unlikeSeconds / shared)} of its length it plays something else than the mix: it looks like another edit.`,
    };
  const notes: string[] = [];
  if (isUpsideDown(alignment)) notes.push('It is upside down (both channels); that is put right.');
  else if (alignment.inverted.some(Boolean))
    notes.push(
      'One channel is upside down; that is left as it is, because it is part of what its maker delivered.',
    );
  if (alignment.swapped) notes.push('Left and right have changed places; that is put right.');
  if (Math.abs(alignment.driftPpm) >= worthTellingPpm)
    notes.push(
      `It plays ${Math.abs(alignment.driftPpm).toFixed(0)} parts in a million ${alignment.driftPpm > 0 ? 'slower' : 'faster'} than the mix; that is put right.`,
    );
  if (shared < 0.98 * mixSeconds)
    notes.push(
      `It holds ${percent(shared / mixSeconds)} of the mix; only what all masters have is compared.`,
    );
  if (unlike.length > 0) notes.push('In some places it plays something else than the mix.');
  return { accepted: true, notes };
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}
