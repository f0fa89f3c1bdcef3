import { frameCount, type Pcm } from '../audio/pcm.ts';
import { RealFft } from '../signal/fft.ts';

/** Rate at which the two are laid over each other, Hz: to a quarter of a millisecond, far less than a step. */
const alignRate = 4000;
/** Below this one is not in the other, dB (heuristic: sounds that have nothing to do with each other reach 14 to 16). */
export const leastFoundDb = 18;

/** All channels added up, over their number. */
export function monoOf(pcm: Pcm): Float32Array {
  const sum = new Float32Array(frameCount(pcm));
  for (const channel of pcm.channels)
    for (let n = 0; n < sum.length; n++) sum[n] += channel[n] / pcm.channels.length;
  return sum;
}

/** Where `played` begins in `heard`, frames: correlation with all frequencies counted alike (Knapp and Carter 1976, PHAT). */
export function findLag(
  heard: Float32Array,
  played: Float32Array,
  sampleRate: number,
): { readonly lag: number; readonly overDb: number } {
  const factor = Math.max(1, Math.round(sampleRate / alignRate));
  const low = (x: Float32Array) =>
    Float64Array.from({ length: Math.floor(x.length / factor) }, (_, i) => {
      let sum = 0;
      for (let k = 0; k < factor; k++) sum += x[i * factor + k];
      return sum;
    });
  const [a, b] = [low(heard), low(played)];
  const fft = new RealFft(2 ** Math.ceil(Math.log2(a.length + b.length)));
  const half = fft.size / 2 + 1;
  const [ar, ai, br, bi] = [0, 0, 0, 0].map(() => new Float64Array(half));
  const time = new Float64Array(fft.size);
  time.set(a);
  fft.forward(time, ar, ai);
  time.fill(0);
  time.set(b);
  fft.forward(time, br, bi);
  for (let k = 0; k < half; k++) {
    const [re, im] = [ar[k] * br[k] + ai[k] * bi[k], ai[k] * br[k] - ar[k] * bi[k]];
    const size = Math.hypot(re, im) + 1e-30;
    ar[k] = re / size;
    ai[k] = im / size;
  }
  fft.inverse(ar, ai, time);
  let [peak, at, power] = [0, 0, 0];
  for (let n = 0; n < time.length; n++) {
    power += time[n] ** 2;
    if (Math.abs(time[n]) > peak) [peak, at] = [Math.abs(time[n]), n];
  }
  const lag = at > time.length / 2 ? at - time.length : at;
  return {
    lag: lag * factor,
    overDb: 10 * Math.log10((peak * peak * time.length) / Math.max(power, 1e-300)),
  };
}
