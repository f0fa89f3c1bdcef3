import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import type { Span } from '../measure/span.ts';
import { pickWindows } from './align-windows.ts';
import { coarseDelays } from './change-coarse.ts';
import { type WindowCoherence, WindowComparer } from './change-coherence.ts';
import {
  type DelayLine,
  delayAt,
  type Moment,
  median,
  robustLine,
  steepest,
  weightedLine,
} from './change-line.ts';
import { matchWindow, type WindowMatch } from './change-windows.ts';

/** Two versions laid over each other. */
export interface Laid {
  readonly line: DelayLine;
  readonly signs: readonly number[];
  readonly swapped: boolean;
  readonly similarity: number;
  readonly scatterSamples: number;
  readonly unlike: readonly Span[];
}

const candidateCount = 6;
/** Windows that choose between candidates, and windows that the line is drawn through. */
const trialCount = 4;
/** Mean phase correlation of the trials from which no other candidate is tried (heuristic). */
const clearFrom = 0.3;
const momentCount = 24;
const searchFrames = 12_288;
/** Windows that are compared: 0.75 s, but eight blocks at low rates, so that chance likeness stays low. */
function compareFramesAt(sampleRate: number): number {
  return Math.max(9 * 2048, Math.round((0.75 * sampleRate) / 2048) * 2048);
}
/** The outline tells the delay to about 10 ms; this far around it is searched, s. */
const outlineReachSeconds = 0.04;
/** Most that clocks drift, per sample, while the next window is looked for (heuristic; 500 ppm). */
const mostDrift = 5e-4;
/** Phase correlation from which a window counts as found (heuristic: other music stays below, measured on the demo songs). */
const foundFrom = 0.12;
/** How far the first line may be off a window, samples. */
const mostOff = 4;
/** A window less like than this is another sound (heuristic). */
const unlikeBelow = 0.25;
/** A line whose windows are less alike than this on the mean is a chance find (heuristic). */
const refineFrom = 0.12;
/** Correlation of left minus right below which the two changed places (heuristic). */
const swappedBelow = -0.3;

/**
 * Finds when b plays what a plays: a coarse delay from their outlines, windows found by phase correlation outward from
 * the best one, a line through them that ignores those that do not fit, and the line again from the phases of whole
 * windows until nothing is left. Same rate and channel count. null when nothing of a is found in b.
 */
export async function layOver(a: Pcm, b: Pcm, run: Run): Promise<Laid | null> {
  const starts = pickWindows(a, Math.min(searchFrames, frameCount(a)), momentCount).map((start) =>
    Math.max(0, start),
  );
  const anchor = findAnchor(a, b, starts);
  await breath(run, 0.2);
  if (!anchor) return null;
  const found = follow(a, b, starts, anchor);
  await breath(run, 0.4);
  const middle = searchFrames / 2;
  const moments = found.map(({ start, match }) => ({
    at: start + middle,
    delaySamples: match.delaySamples,
    weight: 1,
  }));
  let line = robustLine(moments);
  let signs: readonly number[] = a.channels.map((_, c) =>
    found.reduce((sum, { match }) => sum + match.signs[c], 0) < 0 ? -1 : 1,
  );
  let swapped = false;
  let comparer = new WindowComparer(a, b);
  const compareFrames = compareFramesAt(a.sampleRate);
  const windows = comparedWindows(a, starts, compareFrames);
  let compared: readonly (WindowCoherence | null)[] = [];
  for (const [pass, reach] of [mostOff, 0.5].entries()) {
    compared = windows.map((start) => comparer.compare(start, compareFrames, line, signs, reach));
    line = redraw(line, windows, compareFrames, compared);
    await breath(run, 0.4 + 0.25 * (pass + 1));
    if (pass > 0) continue;
    const seen = compared.filter((window) => window !== null);
    if (seen.length === 0) return null;
    // Other music: nothing can be refined, and how little alike they are is known.
    if (meanLikeness(seen) < refineFrom) break;
    // A channel that fits upside down over longer windows was misjudged by the search.
    signs = signs.map((sign, c) =>
      median(seen.map(({ correlations }) => correlations[c])) < 0 ? -sign : sign,
    );
    if (signs.length === 2 && median(seen.map(({ sideCorrelation }) => sideCorrelation)) < swappedBelow) {
      // Left and right changed places: what they share fits, their difference is upside down.
      swapped = true;
      comparer = new WindowComparer(a, { ...b, channels: [b.channels[1], b.channels[0]] });
      signs = [signs[1], signs[0]];
    }
  }
  const last = windows.map((start) => comparer.compare(start, compareFrames, line, signs, 0.25));
  const told = windows.flatMap((start, i) => {
    const window = last[i];
    return window ? [{ start, ...window }] : [];
  });
  if (told.length === 0) return null;
  return {
    line,
    signs,
    swapped,
    similarity: meanLikeness(told),
    scatterSamples: Math.sqrt(median(told.map(({ residualSamples }) => residualSamples ** 2))),
    unlike: told
      .filter(({ likeness }) => likeness < unlikeBelow)
      .map(({ start }) => ({
        startSeconds: Math.max(0, start) / a.sampleRate,
        endSeconds: Math.min(frameCount(a), start + compareFrames) / a.sampleRate,
      })),
  };
}

function meanLikeness(windows: readonly { readonly likeness: number }[]): number {
  return windows.reduce((sum, { likeness }) => sum + likeness, 0) / windows.length;
}

interface Found {
  readonly start: number;
  readonly match: WindowMatch;
}

/** The candidate delay that the trial windows fit best, and the window that fits best there. */
function findAnchor(a: Pcm, b: Pcm, starts: readonly number[]): Found | null {
  const reach = Math.round(outlineReachSeconds * a.sampleRate);
  const trials = starts.filter((_, i) => i % Math.ceil(starts.length / trialCount) === 0);
  let best: Found | null = null;
  let bestTotal = 0;
  for (const delay of coarseDelays(a, b, candidateCount)) {
    let total = 0;
    let own: Found | null = null;
    for (const start of trials) {
      const match = matchWindow(a, b, start, searchFrames, delay, reach);
      if (!match) continue;
      total += match.likeness;
      if (!own || match.likeness > own.match.likeness) own = { start, match };
    }
    if (total > bestTotal) [best, bestTotal] = [own, total];
    if (bestTotal >= clearFrom * trials.length) break;
  }
  return best;
}

/** From the anchor outward, each window is looked for where the nearest found one says, give or take what clocks drift. */
function follow(a: Pcm, b: Pcm, starts: readonly number[], anchor: Found): Found[] {
  const found: Found[] = [anchor];
  const outward = starts
    .filter((start) => start !== anchor.start)
    .sort((x, y) => Math.abs(x - anchor.start) - Math.abs(y - anchor.start));
  for (const start of outward) {
    const nearest = found.reduce((x, y) => (Math.abs(y.start - start) < Math.abs(x.start - start) ? y : x));
    const reach = Math.ceil(64 + mostDrift * Math.abs(nearest.start - start));
    const match = matchWindow(a, b, start, searchFrames, nearest.match.delaySamples, reach);
    if (match && match.likeness >= foundFrom) found.push({ start, match });
  }
  return found;
}

/** Longer windows around the same places, within a where it is long enough, none over another. */
function comparedWindows(a: Pcm, starts: readonly number[], compareFrames: number): number[] {
  const last = Math.max(0, frameCount(a) - compareFrames);
  const windows: number[] = [];
  for (const start of starts) {
    const grown = Math.round(start + (searchFrames - compareFrames) / 2);
    const window = Math.max(0, Math.min(last, grown));
    if (windows.length === 0 || window >= windows[windows.length - 1] + compareFrames) windows.push(window);
  }
  return windows;
}

/** The line moved by what the windows say is left. */
function redraw(
  line: DelayLine,
  windows: readonly number[],
  compareFrames: number,
  compared: readonly (WindowCoherence | null)[],
): DelayLine {
  const moments = windows.flatMap((start, i): Moment[] => {
    const window = compared[i];
    if (!window || window.likeness < unlikeBelow || window.weight <= 0) return [];
    const at = start + compareFrames / 2;
    return [{ at, delaySamples: delayAt(line, at) + window.residualSamples, weight: window.weight }];
  });
  if (moments.length === 0) return line;
  const drawn = weightedLine(moments);
  if (Math.abs(drawn.slope) <= steepest) return drawn;
  // Too few windows, too near each other, to tell a slope by: only moved.
  const left = median(moments.map(({ at, delaySamples }) => delaySamples - delayAt(line, at)));
  return { slope: line.slope, atStart: line.atStart + left };
}

async function breath(run: Run, fraction: number): Promise<void> {
  run.progress?.(fraction);
  await new Promise((resolve) => setTimeout(resolve, 0));
  run.signal?.throwIfAborted();
}
