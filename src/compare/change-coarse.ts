import { frameCount, type Pcm } from '../audio/pcm.ts';
import { RealFft } from '../signal/fft.ts';

/** One value of the outline, s. */
export const outlineStepSeconds = 0.01;
/** Levels below this under the loudest are the same silence, dB. */
const reachDb = 60;
/** A rise counts for no more than this, dB: or the one out of silence would outweigh the music. */
const mostRiseDb = 10;
/** Candidates are at least this far apart, steps. */
const apartSteps = 8;
/** Longest part of the first sound that is looked for, steps: longer, and drift would smear the answer. */
const longestSteps = 12_000;

/**
 * Delays of b against a that fit best by their outlines alone (rises of level, a value every 10 ms), best first;
 * any delay at which the two overlap is looked at. Levels in dB, so that limiting changes little; rises, so that
 * fades and long notes do not matter; brightened, so that bass does not blur it.
 * @returns delays in samples, to about 10 ms
 */
export function coarseDelays(a: Pcm, b: Pcm, count: number): number[] {
  const whole = rises(a);
  const from = livelyPart(whole);
  const part = whole.subarray(from, from + longestSteps);
  const other = rises(b);
  if (part.length === 0 || other.length === 0) return [];
  const fft = new RealFft(2 ** Math.ceil(Math.log2(Math.max(2, part.length + other.length))));
  const bins = fft.size / 2 + 1;
  const [aRe, aIm, bRe, bIm] = Array.from({ length: 4 }, () => new Float64Array(bins));
  fft.forward(padded(part, fft.size), aRe, aIm);
  fft.forward(padded(other, fft.size), bRe, bIm);
  for (let k = 0; k < bins; k++)
    [aRe[k], aIm[k]] = [aRe[k] * bRe[k] + aIm[k] * bIm[k], aRe[k] * bIm[k] - aIm[k] * bRe[k]];
  const correlation = new Float64Array(fft.size);
  fft.inverse(aRe, aIm, correlation);
  const stepSamples = outlineStepSeconds * a.sampleRate;
  return peaks(correlation, count).map((at) => {
    const lag = at > other.length ? at - fft.size : at;
    return Math.round((lag - from) * stepSamples);
  });
}

/** Rises of the level in each step, less their mean. */
function rises(pcm: Pcm): Float64Array {
  const step = outlineStepSeconds * pcm.sampleRate;
  const energies = new Float64Array(Math.ceil(frameCount(pcm) / step));
  for (const samples of pcm.channels)
    for (let i = 1; i < samples.length; i++) {
      const change = samples[i] - samples[i - 1];
      energies[Math.floor(i / step)] += change * change;
    }
  const floor = energies.reduce((most, energy) => Math.max(most, energy), 0) * 10 ** (-reachDb / 10);
  if (floor === 0) return new Float64Array(0);
  const levels = energies.map((energy) => 10 * Math.log10(Math.max(energy, floor)));
  const risen = levels.map((level, i) =>
    Math.min(mostRiseDb, Math.max(0, level - levels[Math.max(0, i - 2)])),
  );
  const mean = risen.reduce((sum, rise) => sum + rise, 0) / risen.length;
  return risen.map((rise) => rise - mean);
}

/** Start of the part of at most `longestSteps` in which most happens. */
function livelyPart(outline: Float64Array): number {
  let [sum, best, start] = [0, Number.NEGATIVE_INFINITY, 0];
  for (let i = 0; i < outline.length; i++) {
    sum += outline[i] ** 2 - (i >= longestSteps ? outline[i - longestSteps] ** 2 : 0);
    if (i >= longestSteps - 1 && sum > best) [best, start] = [sum, i - longestSteps + 1];
  }
  return start;
}

function padded(values: Float64Array, size: number): Float64Array {
  const array = new Float64Array(size);
  array.set(values);
  return array;
}

/** Places of the highest peaks, highest first; circular. */
function peaks(values: Float64Array, count: number): number[] {
  const found: number[] = [];
  const open = values.slice();
  for (let n = 0; n < count; n++) {
    let best = 0;
    for (let i = 1; i < open.length; i++) if (open[i] > open[best]) best = i;
    if (open[best] <= 0) break;
    found.push(best);
    for (let i = -apartSteps; i <= apartSteps; i++)
      open[(best + i + open.length) % open.length] = Number.NEGATIVE_INFINITY;
  }
  return found;
}
