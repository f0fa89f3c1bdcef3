import { type Stereo, silence } from './stereo.ts';

/** A mono sound made wide by two slowly moving short delays, one a side; the sum stays free of deep combs. */
export function chorus(
  mono: Float32Array,
  rate: number,
  { hz = 0.6, depthSeconds = 0.0022, baseSeconds = 0.012, mix = 0.5 } = {},
): Stereo {
  const out = silence(mono.length);
  const sides = [out.left, out.right];
  sides.forEach((side, s) => {
    for (let i = 0; i < mono.length; i++) {
      const delay =
        rate *
        (baseSeconds * (1 + 0.31 * s) + depthSeconds * Math.sin((2 * Math.PI * hz * i) / rate + s * 1.9));
      const whole = Math.floor(delay);
      const part = delay - whole;
      const a = mono[i - whole] ?? 0;
      const b = mono[i - whole - 1] ?? 0;
      side[i] = 0.75 * mono[i] + mix * (a + part * (b - a));
    }
  });
  return out;
}
