import { CodedError } from '../audio/coded-error.ts';
import { addPart, type Chain, type ChainPart, changePart, emptyChain, kindOf } from './chain.ts';

/** How samples are stored in what is written. */
export type WrittenBits = '16' | '24' | '32f';

/** What a finishing is asked for beyond the chain itself. */
export interface PlanWishes {
  /** Whether a limiter must be there: for a ceiling or a loudness. */
  readonly needsLimiter: boolean;
  /** undefined: the chain's dither decides, 24 without one. */
  readonly bits?: WrittenBits;
}

/**
 * A chain made ready for a file: the head up to the limiter that holds the peaks, and from it on the tail. What was decided
 * for lack of a word is in `decided`.
 */
export interface FinishPlan {
  readonly head: Chain;
  /** Begins with the limiter when there is one. */
  readonly tail: Chain;
  /** The limiter at the beginning of the tail. */
  readonly limiter: ChainPart | null;
  /** An id that no part of the chain has, for a trim that may have to stand before the limiter. */
  readonly trimId: string;
  readonly bits: WrittenBits;
  readonly decided: readonly ('limiter-added' | 'dither-added' | 'dither-too-early')[];
}

/**
 * Where in a chain the peaks are held and how its samples are stored. The limiter that counts is the last one, if nothing that
 * could raise a peak comes after it; when one is needed and none counts, one is added there. Without dither of its own at
 * the end, a chain that is stored in integers gets triangular dither. Throws CHAIN_INVALID when `bits` holds less than the
 * chain's own dither makes.
 */
export function planFinish(asked: Chain, { needsLimiter, bits }: PlanWishes): FinishPlan {
  const decided: FinishPlan['decided'][number][] = [];
  let chain = asked;
  let at = limiterPlace(chain);
  if (at === null && needsLimiter) {
    at = quietTail(chain);
    chain = addPart(chain, 'limiter', {}, at);
    decided.push('limiter-added');
  }
  const own = ditherAtEnd(chain);
  const stored = bits ?? (own === null ? '24' : own === '16' ? '16' : '24');
  if (own !== null && stored === '16' && own !== '16')
    throw new CodedError(
      'CHAIN_INVALID',
      `The dither of the chain rounds to ${own} bits, more than the 16 that were asked for: change one of the two.`,
    );
  if (own === null && stored !== '32f') {
    if (chain.parts.some(isDithering)) decided.push('dither-too-early');
    chain = addPart(chain, 'dither', { bits: stored });
    decided.push('dither-added');
  }
  const split = at ?? chain.parts.length;
  return {
    head: { ...chain, parts: chain.parts.slice(0, split) },
    tail: { ...chain, parts: chain.parts.slice(split) },
    limiter: at === null ? null : chain.parts[at],
    trimId: freeId(chain, 'loudness'),
    bits: stored,
    decided,
  };
}

/** The whole chain of a plan. */
export function wholeChain({ head, tail }: Pick<FinishPlan, 'head' | 'tail'>): Chain {
  return { ...head, parts: [...head.parts, ...tail.parts] };
}

/** What the limiter is driven with at most, dB: the range of its gain; below 0 a trim stands before it. */
export const driveRange = { lowest: -60, highest: 24 } as const;

/**
 * A tail with its limiter driven by `driveDb` against a ceiling. A drive below 0 is a trim before the limiter, whose own gain
 * only goes up.
 */
export function drivenTail(tail: Chain, driveDb: number, ceilingDbtp: number, trimId: string): Chain {
  const [limiter] = tail.parts;
  const set = changePart(tail, limiter.id, { gainDb: Math.max(0, driveDb), ceilingDbtp });
  if (driveDb >= 0) return set;
  const [trim] = addPart(emptyChain, 'trim', { gainDb: driveDb }).parts;
  return { ...set, parts: [{ ...trim, id: trimId }, ...set.parts] };
}

/** Gain from what reaches a tail to its limiter's waveform, dB: of a trim before it and of its own. */
export function driveOf({ parts }: Chain): number {
  return parts.reduce((sum, { bypassed, settings }) => sum + (bypassed ? 0 : Number(settings.gainDb)), 0);
}

/** The parts of a tail up to its limiter, and those after. */
export function splitTail(tail: Chain): { readonly limiting: Chain; readonly rest: Chain } {
  const end = tail.parts.findIndex(({ kind }) => kind === 'limiter') + 1;
  return {
    limiting: { ...emptyChain, parts: tail.parts.slice(0, end) },
    rest: { ...emptyChain, parts: tail.parts.slice(end) },
  };
}

/** A chain without the rounding at its end: what its loudness is searched with. */
export function withoutDither(chain: Chain): Chain {
  return { ...chain, parts: chain.parts.filter((part) => !isDithering(part)) };
}

/** Where the limiter that holds the peaks of what comes out stands; null when none does. */
function limiterPlace({ parts }: Chain): number | null {
  const last = quietTail({ ...emptyChain, parts }) - 1;
  return last >= 0 && parts[last].kind === 'limiter' ? last : null;
}

/** From where on nothing raises a peak: parts passed by or neutral, fades, dither. */
function quietTail({ parts }: Chain): number {
  let at = parts.length;
  while (at > 0 && isQuiet(parts[at - 1])) at--;
  return at;
}

function isQuiet(part: ChainPart): boolean {
  return part.kind === 'fades' || part.kind === 'dither' || isIdle(part);
}

function isIdle({ kind, bypassed, settings }: ChainPart): boolean {
  return bypassed || kindOf(kind).isNeutral(settings);
}

function isDithering(part: ChainPart): boolean {
  return part.kind === 'dither' && !isIdle(part);
}

/** Bits that the chain itself rounds to as its last deed; null when it does not. */
function ditherAtEnd({ parts }: Chain): string | null {
  const last = parts.findLast((part) => !isIdle(part));
  return last && isDithering(last) ? String(last.settings.bits) : null;
}

function freeId({ parts }: Chain, word: string): string {
  let id = word;
  while (parts.some((part) => part.id === id)) id += '-';
  return id;
}
