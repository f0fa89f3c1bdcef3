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
  const delays = coarseDelays(a, b, candidateCount);
  const straight = findAnchor(a, b, starts, delays);
  await breath(run, 0.2);
  const turned =
    a.channels.length === 2 && (straight?.mean ?? 0) < clearFrom
      ? findAnchor(a, exchanged(b), starts, delays)
      : null;
  await breath(run, 0.3);
  const swapped = (turned?.mean ?? 0) > (straight?.mean ?? 0);
  const anchor = swapped ? turned : straight;
  if (!anchor) return null;
  const other = swapped ? exchanged(b) : b;
  const found = follow(a, other, starts, anchor);
  await breath(run, 0.4);
  return refine(a, other, starts, found, swapped, run);
}

/** Draws the line through the windows found, twice again from the phases of longer windows around them, and sums up. */
async function refine(
  a: Pcm,
  b: Pcm,
  starts: readonly number[],
  found: readonly Found[],
  exchangedAlready: boolean,
  run: Run,
): Promise<Laid | null> {
  const compareFrames = compareFramesAt(a.sampleRate);
  let line = robustLine(
    found.map(({ start, match }) => ({
      at: start + searchFrames / 2,
      delaySamples: match.delaySamples,
      weight: 1,
    })),
  );
  const windows = sharedOnly(comparedWindows(a, starts, compareFrames), compareFrames, line, frameCount(b));
  let signs: readonly number[] = a.channels.map((_, c) =>
    found.reduce((sum, { match }) => sum + match.signs[c], 0) < 0 ? -1 : 1,
  );
  let swapped = exchangedAlready;
  let comparer = new WindowComparer(a, b);
  for (const [pass, reach] of [mostOff, 0.5].entries()) {
    const compared = windows.map((start) => comparer.compare(start, compareFrames, line, signs, reach));
    line = redraw(line, windows, compareFrames, compared);
    await breath(run, 0.4 + 0.2 * (pass + 1));
    const seen = compared.filter((window) => window !== null);
    if (seen.length === 0) return null;
    // A channel that fits upside down over longer windows was misjudged by the search.
    signs = signs.map((sign, c) =>
      median(seen.map(({ correlations }) => correlations[c])) < 0 ? -sign : sign,
    );
    if (pass > 0 || signs.length !== 2) continue;
    if (median(seen.map(({ sideCorrelation }) => sideCorrelation)) >= swappedBelow) continue;
    // Left and right changed places: what they share fits, their difference is upside down.
    swapped = !swapped;
    comparer = new WindowComparer(a, exchanged(b));
    signs = [signs[1], signs[0]];
  }
  const told = windows.flatMap((start) => {
    const window = comparer.compare(start, compareFrames, line, signs, 0.25);
    return window ? [{ start, ...window }] : [];
  });
  await breath(run, 1);
  return {
    line,
    signs,
    swapped,
    similarity: meanLikeness(told),
    scatterSamples: Math.sqrt(median(told.map(({ residualSamples }) => residualSamples ** 2))),
    unlike: told
      .filter(({ likeness }) => likeness < unlikeBelow)
      .map(({ start }) => ({
        startSeconds: start / a.sampleRate,
        endSeconds: Math.min(frameCount(a), start + compareFrames) / a.sampleRate,
      })),
  };
}

/** Left and right in each other's place (no copy). */
function exchanged(pcm: Pcm): Pcm {
  return { ...pcm, channels: [pcm.channels[1], pcm.channels[0]] };
}

function meanLikeness(windows: readonly { readonly likeness: number }[]): number {
  return windows.reduce((sum, { likeness }) => sum + likeness, 0) / windows.length;
}

interface Found {
  readonly start: number;
  readonly match: WindowMatch;
}

/** The window that fits best at the candidate delay which the trial windows fit best, and how well those fit on the mean. */
function findAnchor(
  a: Pcm,
  b: Pcm,
  starts: readonly number[],
  delays: readonly number[],
): (Found & { readonly mean: number }) | null {
  const reach = Math.round(outlineReachSeconds * a.sampleRate);
  const trials = starts.filter((_, i) => i % Math.ceil(starts.length / trialCount) === 0);
  let best: (Found & { readonly mean: number }) | null = null;
  for (const delay of delays) {
    const matches = trials.flatMap((start) => {
      const match = matchWindow(a, b, start, searchFrames, delay, reach);
      return match ? [{ start, match }] : [];
    });
    if (matches.length === 0) continue;
    const mean = matches.reduce((sum, { match }) => sum + match.likeness, 0) / trials.length;
    const first = matches.reduce((x, y) => (y.match.likeness > x.match.likeness ? y : x));
    if (!best || mean > best.mean) best = { ...first, mean };
    if (best.mean >= clearFrom) break;
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

/** Without those that reach beyond b's ends, if any are left then. */
function sharedOnly(
  windows: readonly number[],
  compareFrames: number,
  line: DelayLine,
  framesB: number,
): readonly number[] {
  const inside = windows.filter((start) => {
    const end = start + compareFrames;
    return start + delayAt(line, start) >= -mostOff && end + delayAt(line, end) <= framesB + mostOff;
  });
  return inside.length > 0 ? inside : windows;
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
