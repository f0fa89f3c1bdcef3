import { type Stereo, silence } from './stereo.ts';

export interface Echo {
  readonly seconds: number;
  /** Share of each repeat in the next. */
  readonly feedback: number;
  readonly highCutHz?: number;
  readonly lowCutHz?: number;
}

/** Echoes that fall from one side to the other, darker and thinner each time. Returns the wet sound only. */
export function pingPong(send: Stereo, rate: number, echo: Echo): Stereo {
  const { seconds, feedback, highCutHz = 3500, lowCutHz = 250 } = echo;
  const frames = send.left.length;
  const step = Math.max(1, Math.round(seconds * rate));
  const out = silence(frames);
  const dull = 1 - Math.exp((-2 * Math.PI * highCutHz) / rate);
  const thin = 1 - Math.exp((-2 * Math.PI * lowCutHz) / rate);
  // Two delays, each feeding the other through one-pole filters.
  const left = new Float32Array(step);
  const right = new Float32Array(step);
  let [lowL, lowR, bassL, bassR, at] = [0, 0, 0, 0, 0];
  for (let i = 0; i < frames; i++) {
    lowL += dull * (left[at] - lowL);
    lowR += dull * (right[at] - lowR);
    bassL += thin * (lowL - bassL);
    bassR += thin * (lowR - bassR);
    const l = lowL - bassL;
    const r = lowR - bassR;
    out.left[i] = l + 0.3 * r;
    out.right[i] = r + 0.3 * l;
    // What has died away is forgotten: denormal numbers are slow.
    if (Math.abs(l) + Math.abs(r) < 1e-20) lowL = lowR = bassL = bassR = 0;
    left[at] = 0.5 * (send.left[i] + send.right[i]) + feedback * r;
    right[at] = feedback * l;
    if (++at === step) at = 0;
  }
  return out;
}
