import { pcmAtRate } from '../audio/at-rate.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { type Laid, layOver } from './change-align.ts';
import { delayAt } from './change-line.ts';
import { folded } from './change-onto.ts';

/** Below this it is not the same song (heuristic: the measured figures are in docs/measurements.md). */
const sameFrom = 0.35;
/** Drift below this moves nothing by a sample: whole samples are cut instead of interpolated. */
export const steadyPpm = 1;

/** Two versions at one rate and channel count, and how the second lies on the first. */
export interface LaidVersions {
  readonly a: Pcm;
  readonly b: Pcm;
  readonly similarity: number;
  /** null when they are no versions of one song; `reason` says so in a sentence. */
  readonly laid: Laid | null;
  readonly reason: string | null;
}

/** Lays `b` over `a`, after bringing it to a's rate, both in mono where their channel counts differ. Rejects with `run.signal.reason`. */
export async function layVersions(a: Pcm, b: Pcm, run: Run = {}): Promise<LaidVersions> {
  if (frameCount(a) === 0 || frameCount(b) === 0 || isSilent(a, 0) || isSilent(b, 0))
    return refused(a, b, 0, 'One of the two is silent, so there is nothing to compare.');
  const [first, second] = a.channels.length === b.channels.length ? [a, b] : [folded(a), folded(b)];
  const atRate = pcmAtRate(second, first.sampleRate);
  const laid = await layOver(first, atRate, partOfRun(run, 0.1, 1));
  if (!laid || laid.similarity < sameFrom)
    return refused(
      first,
      atRate,
      laid?.similarity ?? 0,
      'These are not two versions of one recording: what one plays is not found in the other.',
    );
  return { a: first, b: atRate, similarity: laid.similarity, laid, reason: null };
}

/** How a version lies on another's timeline, as it is kept: see VersionLay. */
export async function alignVersions(a: Pcm, b: Pcm, run: Run = {}): Promise<VersionAlign> {
  const { a: own, b: other, laid, similarity, reason } = await layVersions(a, b, run);
  if (!laid) return { similarity, lay: null, reason };
  const { line, signs, swapped } = laid;
  const steady = Math.abs(line.slope) * 1e6 < steadyPpm;
  // A slope that is taken for none is taken for none about the middle, where the line was drawn.
  const middle = Math.min(frameCount(own), frameCount(other)) / 2;
  const delay = steady ? delayAt(line, middle) : line.atStart;
  return {
    similarity,
    lay: {
      offsetSeconds: onWhole(delay, steady) / own.sampleRate,
      driftPpm: steady ? 0 : line.slope * 1e6,
      inverted: signs.every((sign) => sign < 0),
      swapped,
    },
    reason: null,
  };
}

export interface VersionAlign {
  /** 0..1, as in VersionChange. */
  readonly similarity: number;
  /** null when it is no version of the same song; `reason` says so. */
  readonly lay: VersionLay | null;
  readonly reason: string | null;
}

/** At base time t the version's own clock stands at t * (1 + driftPpm / 1e6) + offsetSeconds. */
export interface VersionLay {
  readonly offsetSeconds: number;
  /** Exactly 0 when it is below 1 ppm. */
  readonly driftPpm: number;
  /** Whether all its channels are upside down against the base's. */
  readonly inverted: boolean;
  readonly swapped: boolean;
}

/**
 * A delay this close to a whole sample of the base is meant to be whole: alignment finds it to about a hundredth, and a
 * bounce moved by whole samples can then be heard bit by bit (heuristic).
 */
const wholeWithin = 0.03;

function onWhole(delay: number, steady: boolean): number {
  const whole = Math.round(delay);
  return steady && Math.abs(delay - whole) <= wholeWithin ? whole : delay;
}

function refused(a: Pcm, b: Pcm, similarity: number, reason: string): LaidVersions {
  return { a, b, similarity, laid: null, reason };
}

/** @param least highest |sample| that still counts as silence */
export function isSilent(pcm: Pcm, least: number): boolean {
  return pcm.channels.every((samples) => samples.every((x) => Math.abs(x) <= least));
}
