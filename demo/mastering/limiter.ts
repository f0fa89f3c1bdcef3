import { type Stereo, silence } from '../mixing/stereo.ts';

export interface Limit {
  /** Linear ceiling for the peaks that were given. */
  readonly ceiling: number;
  readonly lookAheadSeconds: number;
  readonly releaseSeconds: number;
}

/** The smallest of the values from each index to `span` ahead (a queue that only rises). */
function smallestAhead(values: Float32Array, span: number): Float32Array {
  const n = values.length;
  const out = new Float32Array(n);
  const queue = new Int32Array(n);
  let [head, tail] = [0, 0];
  for (let i = 0; i < n + span; i++) {
    if (i < n) {
      while (tail > head && values[queue[tail - 1]] >= values[i]) tail--;
      queue[tail++] = i;
    }
    const at = i - span;
    if (at < 0) continue;
    while (queue[head] < at) head++;
    out[at] = values[queue[head]];
  }
  return out;
}

/** Mean of each value and the `span - 1` before it. */
function meanBehind(values: Float32Array, span: number): Float32Array {
  const out = new Float32Array(values.length);
  let sum = span * values[0];
  for (let i = 0; i < values.length; i++) {
    sum += values[i] - (i >= span ? values[i - span] : values[0]);
    out[i] = sum / span;
  }
  return out;
}

/**
 * The gain a look-ahead limiter gives to a sound with these `peaks` (linear, a value a sample, driven by `drive`):
 * it is down in time for each peak without a corner (two running means after a running minimum), and comes back in
 * two stages, quickly from a single blow, slowly from dense music.
 */
export function limiterGain(peaks: Float32Array, drive: number, rate: number, limit: Limit): Float32Array {
  const span = Math.max(2, Math.round((limit.lookAheadSeconds * rate) / 2) * 2);
  const wanted = peaks.map((peak) => Math.min(1, limit.ceiling / (drive * peak + 1e-12)));
  const held = smallestAhead(wanted, span);
  const quick = 1 - Math.exp(-1 / (rate * limit.releaseSeconds));
  const slow = 1 - Math.exp(-1 / (rate * limit.releaseSeconds * 8));
  let [gain, floor] = [1, 1];
  for (let i = 0; i < held.length; i++) {
    // `floor` remembers how deep the sound has lately been limited on the whole; recovery beyond it is slow.
    floor += slow * (gain - floor);
    const recover = gain < floor ? quick : slow;
    gain = Math.min(held[i], gain + recover * (1 - gain));
    held[i] = gain;
  }
  return meanBehind(meanBehind(held, span / 2), span / 2);
}

/** The sound driven, times the gain. */
export function applyGain(sound: Stereo, drive: number, gain: Float32Array): Stereo {
  const out = silence(gain.length);
  for (let i = 0; i < gain.length; i++) {
    out.left[i] = sound.left[i] * drive * gain[i];
    out.right[i] = sound.right[i] * drive * gain[i];
  }
  return out;
}
