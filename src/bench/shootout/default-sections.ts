import type { SectionsResult } from '../../measure/sections.ts';
import type { ShootoutSection } from '../store/shootouts.ts';

/** Longer excerpts only make the session longer (heuristic). */
const longestSeconds = 20;
/** Shorter ones tell little (heuristic). */
const shortestSeconds = 6;
const most = 3;

/**
 * Up to three sections that stand for a song, in order of time: the loudest, and the longest of other kinds. Each from its
 * beginning, at most 20 s.
 */
export function defaultSections({ sections, loudest }: SectionsResult, seconds: number): ShootoutSection[] {
  const length = (i: number) => sections[i].endSeconds - sections[i].startSeconds;
  const long = [...sections.keys()].filter((i) => length(i) >= shortestSeconds);
  const ranked = long.sort((a, b) => Number(b === loudest) - Number(a === loudest) || length(b) - length(a));
  const chosen: number[] = [];
  for (const i of ranked)
    if (chosen.length < most && !chosen.some((other) => sections[other].label === sections[i].label))
      chosen.push(i);
  if (chosen.length === 0)
    return [{ startSeconds: 0, endSeconds: Math.min(seconds, longestSeconds), label: 'A' }];
  return chosen
    .sort((a, b) => a - b)
    .map((i) => {
      const { startSeconds, endSeconds, label } = sections[i];
      return { startSeconds, endSeconds: Math.min(endSeconds, startSeconds + longestSeconds), label };
    });
}

/** Names sections that the user chose after the parts of the song that they begin in. */
export function labelled(
  chosen: readonly { readonly startSeconds: number; readonly endSeconds: number }[],
  { sections }: SectionsResult,
): ShootoutSection[] {
  return chosen.map(({ startSeconds, endSeconds }) => {
    const middle = (startSeconds + endSeconds) / 2;
    const around = sections.find((each) => each.startSeconds <= middle && each.endSeconds >= middle);
    return { startSeconds, endSeconds, label: around?.label ?? '' };
  });
}
