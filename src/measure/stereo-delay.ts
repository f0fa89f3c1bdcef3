import { RealFft } from '../signal/fft.ts';

/** How one channel lies in time behind the other, over the whole sound. */
export interface ChannelDelay {
  /** Samples by which the right channel comes later than the left; negative: earlier. */
  readonly delaySamples: number;
  /** How much of the spectrum agrees on it, 0..1: 1 when one channel is nothing but the other one moved. */
  readonly agreement: number;
  /** Whether they agree upside down. */
  readonly inverted: boolean;
}

/** Where timing is looked for, Hz: below, phase says little about time; above, lossy files hold nothing (heuristic). */
const range = { fromHz: 100, toHz: 16000 };
/** Groups this far below the strongest are noise or nothing, power ratio: -90 dB (heuristic). */
const faint = 1e-9;
/** Longest delay looked for, s (heuristic: longer ones are heard as an echo). */
const longestSeconds = 0.05;
/** A delay of more than two samples is believed only when it agrees this much better than none at all (heuristic). */
const better = 1.25;

/**
 * The one delay between two channels, from their cross power summed over the whole sound: each group of bins votes with
 * its coherence, however strong it is (cross-correlation with smoothed coherence transform, Carter 1973, from memory).
 *
 * @param groups left power, right power, real and imaginary cross power for each four bins (kernels/stereo.ts)
 * @param size of the transform behind them
 * @returns null when a channel is silent or hardly anything is there to tell from
 */
export function channelDelay(groups: Float32Array, size: number, sampleRate: number): ChannelDelay | null {
  const votes = votesOf(groups, size, sampleRate);
  if (votes === null) return null;
  const { re, im, count } = votes;
  const points = size / 4;
  const fft = new RealFft(points);
  const half = points / 2;
  const [aRe, aIm, bRe, bIm] = [0, 0, 0, 0].map(() => new Float64Array(half + 1));
  fft.forward(re, aRe, aIm);
  fft.forward(im, bRe, bIm);
  const reach = Math.min(half - 1, Math.round(longestSeconds * sampleRate));
  let best = 0;
  let height = 0;
  for (let lag = -reach; lag <= reach; lag++) {
    const k = Math.abs(lag);
    const sign = lag < 0 ? -1 : 1;
    const angle = (2 * Math.PI * lag * 2.5) / size;
    const value = (aRe[k] - sign * bIm[k]) * Math.cos(angle) + (sign * aIm[k] + bRe[k]) * Math.sin(angle);
    if (Math.abs(value) > Math.abs(height)) {
      best = lag;
      height = value;
    }
  }
  const at = (lag: number) => agreementAt(re, im, lag, size);
  if (Math.abs(best) > 2 && Math.abs(height) < better * Math.abs(at(0))) {
    best = 0;
    height = at(0);
  }
  const delaySamples = refine(at, best, Math.sign(height));
  return {
    delaySamples,
    agreement: Math.min(1, Math.abs(at(delaySamples)) / count),
    inverted: height < 0,
  };
}

/** Cross power of unit strength times coherence for each group that holds enough, 0 elsewhere. */
function votesOf(groups: Float32Array, size: number, sampleRate: number) {
  const groupHz = (4 * sampleRate) / size;
  const from = Math.ceil(range.fromHz / groupHz);
  const to = Math.min(size / 8, Math.floor(Math.min(range.toHz, 0.45 * sampleRate) / groupHz));
  const re = new Float64Array(size / 4);
  const im = new Float64Array(size / 4);
  let strongest = 0;
  for (let g = from; g < to; g++) strongest = Math.max(strongest, groups[4 * g], groups[4 * g + 1]);
  let count = 0;
  for (let g = from; g < to; g++) {
    const left = groups[4 * g];
    const right = groups[4 * g + 1];
    if (left <= faint * strongest || right <= faint * strongest) continue;
    const scale = 1 / Math.sqrt(left * right);
    re[g] = groups[4 * g + 2] * scale;
    im[g] = groups[4 * g + 3] * scale;
    count++;
  }
  // Fewer groups cannot tell one delay from another.
  return count >= 8 && count >= 0.05 * (to - from) ? { re, im, count } : null;
}

/** Sum of the votes for a delay of any fraction of a sample. */
function agreementAt(re: Float64Array, im: Float64Array, lag: number, size: number): number {
  let sum = 0;
  for (let g = 0; g < size / 8; g++) {
    if (re[g] === 0 && im[g] === 0) continue;
    const angle = (2 * Math.PI * lag * (4 * g + 2.5)) / size;
    sum += re[g] * Math.cos(angle) + im[g] * Math.sin(angle);
  }
  return sum;
}

/** Climbs to the top around a whole lag by parabolas, each a tenth as wide. */
function refine(at: (lag: number) => number, lag: number, sign: number): number {
  let best = lag;
  for (const width of [0.5, 0.1, 0.02]) {
    const [a, b, c] = [at(best - width), at(best), at(best + width)].map((value) => sign * value);
    const bend = a - 2 * b + c;
    if (bend >= 0) break;
    best += Math.min(1, Math.max(-1, (0.5 * (a - c)) / bend)) * width;
  }
  return best;
}
