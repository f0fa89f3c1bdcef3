import type { Pcm } from '../audio/pcm.ts';
import { SoundFeed } from '../measure/sound-feed.ts';
import type { Span } from '../measure/span.ts';
import { ToneMeter, toneFrameLength } from '../measure/tone.ts';
import { type BandTrace, ToneOverTime } from '../measure/tone-over-time.ts';
import { powerToDb } from '../signal/decibels.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import type { BandChange, WidthChange } from './change-result.ts';

/** What lies this far below a sound's loudest band is none of its tone any more, dB (heuristic). */
const reachDb = 80;
/** Nothing is told of bands below this in both, mean square, dB: dither of 16 bits spread over the bands. */
const floorDb = -110;

/** Third octaves over time of one version, and of its mid and side where it has two channels. */
export interface VersionTone {
  readonly trace: BandTrace;
  /** Power by step and band, all channels. */
  readonly powers: readonly Float64Array[];
  readonly mid: readonly Float64Array[] | null;
  readonly side: readonly Float64Array[] | null;
}

export function versionTone(pcm: Pcm): VersionTone {
  if (pcm.channels.length !== 2) {
    const trace = traceOf(pcm);
    return { trace, powers: powersOf(trace), mid: null, side: null };
  }
  const [left, right] = pcm.channels;
  const halfOf = (sign: number): Pcm => ({
    sampleRate: pcm.sampleRate,
    channels: [left.map((x, i) => Math.SQRT1_2 * (x + sign * right[i]))],
  });
  const trace = traceOf(halfOf(1));
  const [mid, side] = [powersOf(trace), powersOf(traceOf(halfOf(-1)))];
  // (L+R)/sqrt 2 and (L-R)/sqrt 2 hold together the power of L and R.
  return { trace, powers: mid.map((row, i) => row.map((power, k) => power + side[i][k])), mid, side };
}

function traceOf(pcm: Pcm): BandTrace {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, { sampleRate: pcm.sampleRate, channels: pcm.channels.length });
  const size = toneFrameLength(pcm.sampleRate);
  const bands = new ToneOverTime(pcm.sampleRate, size);
  const tone = new ToneMeter(kernels, feed, pcm.sampleRate, [bands]);
  feed.push(pcm, (frames) => tone.take(frames));
  feed.finish((frames) => tone.take(frames));
  tone.finish();
  return bands.finish();
}

function powersOf({ levelsDb }: BandTrace): Float64Array[] {
  return levelsDb.map((levels) => Float64Array.from(levels, (level) => 10 ** (level / 10)));
}

/** Steps of a trace whose middle lies within a span; at least the nearest one. */
function stepsWithin({ firstSeconds, stepSeconds, levelsDb }: BandTrace, span: Span): [number, number] {
  const step = (seconds: number) => (seconds - firstSeconds) / stepSeconds;
  const first = Math.max(0, Math.min(levelsDb.length - 1, Math.ceil(step(span.startSeconds))));
  const last = Math.min(levelsDb.length, Math.ceil(step(span.endSeconds)));
  return [first, Math.max(first + 1, last)];
}

function summed(rows: readonly Float64Array[], [from, to]: readonly [number, number]): Float64Array {
  const sum = new Float64Array(rows[0]?.length ?? 0);
  for (const row of rows.slice(from, to)) for (let k = 0; k < sum.length; k++) sum[k] += row[k];
  return sum.map((power) => power / (to - from));
}

const total = (powers: Float64Array) => powers.reduce((sum, power) => sum + power, 0);

/** What changed in tone within a span, and in level as a whole, `gainDb` taken off. */
export function toneChange(
  a: VersionTone,
  b: VersionTone,
  span: Span,
  gainDb: number,
): BandChange & { readonly levelDb: number } {
  const steps = stepsWithin(a.trace, span);
  const [before, after] = [summed(a.powers, steps), summed(b.powers, steps)];
  return {
    centresHz: a.trace.centresHz,
    changeDb: ratios(after, before, gainDb),
    levelDb: total(before) > 0 && total(after) > 0 ? powerToDb(total(after) / total(before)) - gainDb : 0,
  };
}

/** dB by which each band of one is above that of the other; both are held up to what counts as nothing. */
function ratios(after: Float64Array, before: Float64Array, gainDb: number): (number | null)[] {
  const least = (powers: Float64Array) =>
    Math.max(
      10 ** (floorDb / 10),
      powers.reduce((most, power) => Math.max(most, power), 0) * 10 ** (-reachDb / 10),
    );
  const gain = 10 ** (gainDb / 10);
  const [leastBefore, leastAfter] = [least(before), least(after)];
  // One floor for both, B's seen at A's level.
  const floor = Math.max(leastBefore, leastAfter / gain);
  return Array.from(before, (power, k) => {
    const level = after[k] / gain;
    return power <= floor && level <= floor
      ? null
      : powerToDb(Math.max(level, floor) / Math.max(power, floor));
  });
}

/** What changed in width over a span; null unless both have two channels. */
export function widthChange(a: VersionTone, b: VersionTone, span: Span): WidthChange | null {
  if (!a.mid || !a.side || !b.mid || !b.side) return null;
  const steps = stepsWithin(a.trace, span);
  const [midA, sideA, midB, sideB] = [a.mid, a.side, b.mid, b.side].map((rows) => summed(rows, steps));
  const change = (ma: number, sa: number, mb: number, sb: number, least: number) =>
    sa > least && sb > least && ma > least && mb > least ? powerToDb(sb / mb / (sa / ma)) : null;
  const floor = 10 ** (floorDb / 10);
  return {
    sideToMidDb: change(total(midA), total(sideA), total(midB), total(sideB), floor),
    sideToMidByBandDb: Array.from(midA, (power, k) => change(power, sideA[k], midB[k], sideB[k], floor)),
  };
}
