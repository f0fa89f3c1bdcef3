import { equalise } from './equaliser.ts';
import { type Stereo, silence } from './stereo.ts';

/** A room as the desk knows it. */
export interface Room {
  /** Time to fall by 60 dB in the middle band, s. */
  readonly decaySeconds: number;
  readonly preDelaySeconds: number;
  /** 0..1, stretches all delays: 0.4 a small room, 1 a hall. */
  readonly size: number;
  /** Above this the tail dies sooner. */
  readonly dampHz: number;
  /** The send is cut below this, to keep the low end clear. */
  readonly lowCutHz?: number;
}

/** Delays of the eight lines at size 1, in samples at 44.1 kHz: primes, so that echoes do not fall together. */
const lines = [1523, 1787, 2053, 2311, 2663, 2917, 3253, 3571];
const diffusers = [149, 211, 317, 431];

/** Four all-passes in series smear a click into a short burst before it reaches the network. */
function diffuse(samples: Float32Array, rate: number, offset: number): Float32Array {
  for (const base of diffusers) {
    const length = Math.round(((base + offset) * rate) / 44100);
    const memory = new Float32Array(length);
    let at = 0;
    for (let i = 0; i < samples.length; i++) {
      const held = memory[at];
      const x = samples[i] + 0.6 * held;
      samples[i] = held - 0.6 * x;
      memory[at] = Math.abs(x) < 1e-20 ? 0 : x;
      if (++at === length) at = 0;
    }
  }
  return samples;
}

/**
 * A feedback delay network: eight lines, mixed by a Hadamard matrix (lossless), each damped by a one-pole low-pass.
 * Returns the wet sound only.
 */
export function reverberate(send: Stereo, rate: number, room: Room): Stereo {
  const frames = send.left.length;
  const pre = Math.round(room.preDelaySeconds * rate);
  const delayed = silence(frames);
  delayed.left.set(send.left.subarray(0, Math.max(0, frames - pre)), Math.min(pre, frames));
  delayed.right.set(send.right.subarray(0, Math.max(0, frames - pre)), Math.min(pre, frames));
  const cut = [{ kind: 'lowcut' as const, hz: room.lowCutHz ?? 180 }];
  const inLeft = diffuse(equalise(delayed.left, rate, cut), rate, 0);
  const inRight = diffuse(equalise(delayed.right, rate, cut), rate, 13);

  const lengths = lines.map((base) => Math.round((base * room.size * rate) / 44100));
  const memory = lengths.map((length) => new Float32Array(length));
  const gain = lengths.map((length) => 10 ** ((-3 * length) / rate / room.decaySeconds) / Math.sqrt(8));
  const damp = 1 - Math.exp((-2 * Math.PI * room.dampHz) / rate);
  const at = new Int32Array(8);
  const low = new Float64Array(8);
  const v = new Float64Array(8);
  const out = silence(frames);
  for (let i = 0; i < frames; i++) {
    for (let j = 0; j < 8; j++) {
      const l = low[j] + damp * (memory[j][at[j]] - low[j]);
      low[j] = l;
      v[j] = l;
    }
    out.left[i] = v[0] - v[2] + v[4] - v[6];
    out.right[i] = v[1] - v[3] + v[5] - v[7];
    const [xl, xr] = [inLeft[i], inRight[i]];
    // Hadamard butterflies, in place.
    for (let span = 1; span < 8; span <<= 1)
      for (let j = 0; j < 8; j++)
        if ((j & span) === 0) {
          const a = v[j];
          const b = v[j + span];
          v[j] = a + b;
          v[j + span] = a - b;
        }
    for (let j = 0; j < 8; j++) {
      const x = gain[j] * v[j] + (j & 1 ? xr : xl);
      memory[j][at[j]] = Math.abs(x) < 1e-20 ? 0 : x;
      if (++at[j] === lengths[j]) at[j] = 0;
    }
  }
  return out;
}
