import type { Pcm } from '../../src/audio/pcm.ts';
import { seeded } from '../seeded-sound.ts';

/** Partials above are left out, at any rate, so that every rate plays the same. */
const topHz = 6600;

export interface Playing {
  readonly seconds: number;
  readonly rate: number;
  /** How much later it is played, samples; any fraction. */
  readonly delaySamples?: number;
  /** How much slower the clock runs, parts per million. */
  readonly driftPpm?: number;
  readonly channels?: 1 | 2;
}

/**
 * Music-like sound that is known at every moment, so that it can be sampled late or by another clock without any
 * interpolation: some 18 plucked notes a second over seven octaves, each with its partials and its place in the stereo
 * picture. Two seeds share no note.
 */
export function play(seed: number, playing: Playing): Pcm {
  const { seconds, rate, delaySamples = 0, driftPpm = 0, channels = 2 } = playing;
  const random = seeded(seed);
  const frames = Math.round(seconds * rate);
  const output = Array.from({ length: channels }, () => new Float32Array(frames));
  const slower = 1 + driftPpm * 1e-6;
  for (let count = Math.round(seconds * 18); count > 0; count--) {
    const beginSeconds = random() * (seconds + 1) - 0.8;
    const hertz = 55 * 2 ** (6.5 * random());
    const level = 0.02 + 0.08 * random();
    const decaySeconds = 0.08 + 0.3 * random();
    const pan = random();
    for (let partial = 1; partial <= 8 && partial * hertz < topHz; partial++) {
      const phase = 2 * Math.PI * random();
      // Sample n sounds at (n - delay) / (rate * slower).
      const first = Math.max(0, Math.ceil(beginSeconds * rate * slower + delaySamples));
      const last = Math.min(frames, Math.ceil(first + 6 * decaySeconds * rate));
      const turn = (2 * Math.PI * partial * hertz) / (rate * slower);
      const sinceBegin = (first - delaySamples) / (rate * slower) - beginSeconds;
      const start = phase + 2 * Math.PI * partial * hertz * sinceBegin;
      const [turnRe, turnIm] = [Math.cos(turn), Math.sin(turn)];
      let [re, im] = [Math.cos(start), Math.sin(start)];
      let fade = Math.exp(-sinceBegin / decaySeconds);
      let attack = Math.exp(-sinceBegin / 0.003);
      const [fadeStep, attackStep] = [1, 1].map((_, i) =>
        Math.exp(-1 / (rate * slower * [decaySeconds, 0.003][i])),
      );
      const height = level / partial;
      for (let n = first; n < last; n++) {
        const x = height * im * fade * (1 - attack);
        if (channels === 1) output[0][n] += x;
        else {
          output[0][n] += x * (1 - pan);
          output[1][n] += x * pan;
        }
        const next = re * turnRe - im * turnIm;
        im = re * turnIm + im * turnRe;
        re = next;
        fade *= fadeStep;
        attack *= attackStep;
      }
    }
  }
  return { sampleRate: rate, channels: output };
}

/** Every channel through `each`. */
export function mapChannels(pcm: Pcm, each: (samples: Float32Array, channel: number) => Float32Array): Pcm {
  return { ...pcm, channels: pcm.channels.map(each) };
}

/** Peaking filter (R. Bristow-Johnson, 'Cookbook formulae for audio EQ biquad filter coefficients'; from memory). */
export function bell(hertz: number, gainDb: number, q: number, rate: number) {
  const amplitude = 10 ** (gainDb / 40);
  const omega = (2 * Math.PI * hertz) / rate;
  const alpha = Math.sin(omega) / (2 * q);
  const a0 = 1 + alpha / amplitude;
  return {
    b0: (1 + alpha * amplitude) / a0,
    b1: (-2 * Math.cos(omega)) / a0,
    b2: (1 - alpha * amplitude) / a0,
    a1: (-2 * Math.cos(omega)) / a0,
    a2: (1 - alpha / amplitude) / a0,
  };
}

export function filtered(
  samples: Float32Array,
  { b0, b1, b2, a1, a2 }: ReturnType<typeof bell>,
): Float32Array {
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  return samples.map((x) => {
    const y = b0 * x + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
    [x2, x1, y2, y1] = [x1, x, y1, y];
    return y;
  });
}
