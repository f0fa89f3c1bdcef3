import { frameCount, joinPcm, type Pcm, slicePcm } from '../audio/pcm.ts';
import type { Span } from '../measure/measurement.ts';
import type { StreamedSound } from './code-pieces.ts';

/** Passages of a sound put together so that they are coded in one go. */
export interface Reel {
  readonly pcm: Pcm;
  /** Where each passage itself lies on the reel, frames, in order of time. */
  readonly bodies: readonly { readonly start: number; readonly end: number }[];
}

/** Enough for an encoder to settle before a passage, and to look ahead after it, seconds (heuristic). */
const beforeSeconds = 0.3;
const afterSeconds = 0.1;

/** A part of a sound. */
export interface Stretch {
  readonly startFrame: number;
  readonly pcm: Pcm;
}

/**
 * Cuts passages out of a sound as it streams by, with what surrounds them and `slackFrames` more on either side, in
 * order of time. Copies: nothing else of the sound is held.
 */
export async function cutStretches(
  { sampleRate, blocks }: Pick<StreamedSound, 'sampleRate' | 'blocks'>,
  spans: readonly Span[],
  slackFrames: number,
): Promise<Stretch[]> {
  const cuts: { start: number; end: number; parts: Pcm[] }[] = [];
  for (const { start, end } of cutsFor(spans, sampleRate, 1)) {
    const last = cuts.at(-1);
    // What is one stretch on some grid must be one here.
    if (last && start - slackFrames <= last.end) last.end = end + slackFrames;
    else cuts.push({ start: Math.max(0, start - slackFrames), end: end + slackFrames, parts: [] });
  }
  let blockStart = 0;
  for await (const block of blocks) {
    const blockEnd = blockStart + frameCount(block);
    for (const { start, end, parts } of cuts) {
      const [from, to] = [Math.max(start, blockStart), Math.min(end, blockEnd)];
      if (to <= from) continue;
      const part = slicePcm(block, from - blockStart, to - blockStart);
      parts.push({ ...part, channels: part.channels.map((samples) => samples.slice()) });
    }
    blockStart = blockEnd;
  }
  return cuts.flatMap(({ start, parts }) =>
    parts.length > 0 ? [{ startFrame: start, pcm: joinPcm(parts) }] : [],
  );
}

/**
 * Puts passages with what surrounds them end to end, cut on a grid on which the codec's frames stay as they are in the
 * whole. Passages whose surroundings touch become one stretch.
 * @param stretches hold all that is cut, or the sound ends there
 */
export function gatherReel(
  { sampleRate, channels, frames }: { sampleRate: number; channels: number; frames: number },
  stretches: readonly Stretch[],
  spans: readonly Span[],
  gridFrames: number,
): Reel {
  const parts: Pcm[] = [];
  const bodies: { start: number; end: number }[] = [];
  let at = 0;
  for (const { start, end, bodies: cutBodies } of cutsFor(spans, sampleRate, gridFrames)) {
    const to = Math.min(end, frames);
    const from = stretches.find(
      ({ startFrame, pcm }) => startFrame <= start && startFrame + frameCount(pcm) >= to,
    );
    if (!from || to <= start) continue;
    parts.push(slicePcm(from.pcm, start - from.startFrame, to - from.startFrame));
    for (const body of cutBodies)
      if (body.start < frames)
        bodies.push({ start: at + body.start - start, end: at + Math.min(body.end, frames) - start });
    at += to - start;
  }
  const silence: Pcm = { sampleRate, channels: Array.from({ length: channels }, () => new Float32Array(0)) };
  return { pcm: parts.length > 0 ? joinPcm(parts) : silence, bodies };
}

/** Share of a sound that its passages with their surroundings make up, 0..1. */
export function reelShare(spans: readonly Span[], seconds: number): number {
  // A grid of a tenth of a second stands for all codecs' own, which are finer.
  const cuts = cutsFor(spans, 1000, 100);
  const onReel = cuts.reduce((sum, cut) => sum + Math.min(cut.end, seconds * 1000) - cut.start, 0);
  return seconds > 0 ? Math.min(1, onReel / 1000 / seconds) : 1;
}

interface Cut {
  readonly start: number;
  end: number;
  readonly bodies: { readonly start: number; readonly end: number }[];
}

function cutsFor(spans: readonly Span[], rate: number, grid: number): Cut[] {
  const cuts: Cut[] = [];
  for (const span of [...spans].sort((a, b) => a.startSeconds - b.startSeconds)) {
    const start = Math.max(0, Math.floor(span.startSeconds * rate));
    const end = Math.max(start + 1, Math.ceil(span.endSeconds * rate));
    const cut: Cut = {
      start: Math.max(0, Math.floor((start - beforeSeconds * rate) / grid) * grid),
      end: Math.ceil((end + afterSeconds * rate) / grid) * grid,
      bodies: [{ start, end }],
    };
    const last = cuts.at(-1);
    if (last && cut.start <= last.end) {
      last.end = Math.max(last.end, cut.end);
      last.bodies.push(...cut.bodies);
    } else cuts.push(cut);
  }
  return cuts;
}
