import { type Stereo, samplePeak } from '../mixing/stereo.ts';

/** A windowed-sinc interpolator (Kaiser window, beta 7): `factor` phases of `taps` coefficients. */
function phasesOf(factor: number, taps: number): Float64Array[] {
  const bessel = (x: number) => {
    let [sum, term] = [1, 1];
    for (let k = 1; k < 30; k++) {
      term *= (x / (2 * k)) ** 2;
      sum += term;
    }
    return sum;
  };
  const half = taps / 2;
  return Array.from({ length: factor }, (_, phase) => {
    const h = new Float64Array(taps);
    let sum = 0;
    for (let i = 0; i < taps; i++) {
      const x = i - half + 1 - phase / factor;
      const sinc = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
      const w = Math.abs(x) >= half ? 0 : bessel(7 * Math.sqrt(1 - (x / half) ** 2)) / bessel(7);
      h[i] = sinc * w;
      sum += h[i];
    }
    return h.map((v) => v / sum);
  });
}

/**
 * For every sample the largest absolute value of either channel from it up to the next one, read between the samples
 * at `factor` times the rate. Where the four samples around a gap are all under `floor` times the largest sample, the
 * gap is not read: nothing between them can matter to whoever asks. The demo's own; the house measures with src/measure.
 */
export function peakBetween(sound: Stereo, factor = 4, taps = 20, floor = 0.1): Float32Array {
  const phases = phasesOf(factor, taps).slice(1);
  const half = taps / 2;
  const frames = sound.left.length;
  const peaks = new Float32Array(frames);
  const threshold = floor * samplePeak(sound);
  for (const channel of [sound.left, sound.right]) {
    const padded = new Float64Array(frames + taps);
    padded.set(channel, half - 1);
    let lastLoud = -4;
    for (let i = 0; i < frames; i++) {
      let peak = Math.abs(channel[i]);
      if (i + 2 < frames && Math.abs(channel[i + 2]) >= threshold) lastLoud = i + 2;
      for (const h of i - lastLoud > 1 ? [] : phases) {
        let y = 0;
        for (let k = 0; k < taps; k++) y += h[k] * padded[i + k];
        if (y > peak) peak = y;
        else if (-y > peak) peak = -y;
      }
      if (peak > peaks[i]) peaks[i] = peak;
    }
  }
  return peaks;
}

/** Largest value, linear. */
export function truePeak(sound: Stereo): number {
  const peaks = peakBetween(sound, 8, 32, 0.6);
  let peak = 0;
  for (let i = 0; i < peaks.length; i++) if (peaks[i] > peak) peak = peaks[i];
  return peak;
}
