import type { Pcm } from '../../src/audio/pcm.ts';

/** A stereo signal being worked on in place. */
export interface Stereo {
  readonly left: Float32Array;
  readonly right: Float32Array;
}

export function silence(frames: number): Stereo {
  return { left: new Float32Array(frames), right: new Float32Array(frames) };
}

/** Adds `from`, times `gain`, to `to`, as far as the shorter goes. */
export function addInto(to: Float32Array, from: Float32Array, gain = 1): void {
  const n = Math.min(to.length, from.length);
  for (let i = 0; i < n; i++) to[i] += gain * from[i];
}

/** Places a mono sound: constant-power pan, -1 = left, 0 = middle (-3 dB a side), 1 = right. */
export function panned(mono: Float32Array, pan: number, gain = 1): Stereo {
  const angle = ((pan + 1) * Math.PI) / 4;
  const [l, r] = [gain * Math.cos(angle), gain * Math.sin(angle)];
  const out = silence(mono.length);
  for (let i = 0; i < mono.length; i++) {
    out.left[i] = l * mono[i];
    out.right[i] = r * mono[i];
  }
  return out;
}

/** Puts the places of two mono takes apart (double tracking). */
export function doubled(a: Float32Array, b: Float32Array, width: number): Stereo {
  const [left, right] = [panned(a, -width), panned(b, width)];
  addInto(left.left, right.left);
  addInto(left.right, right.right);
  return left;
}

export function scale({ left, right }: Stereo, gain: number): void {
  for (let i = 0; i < left.length; i++) {
    left[i] *= gain;
    right[i] *= gain;
  }
}

/** Largest absolute sample. */
export function samplePeak({ left, right }: Stereo): number {
  let peak = 0;
  for (let i = 0; i < left.length; i++) {
    const [l, r] = [Math.abs(left[i]), Math.abs(right[i])];
    if (l > peak) peak = l;
    if (r > peak) peak = r;
  }
  return peak;
}

export function gainOf(db: number): number {
  return 10 ** (db / 20);
}

export function copyOf({ left, right }: Stereo): Stereo {
  return { left: left.slice(), right: right.slice() };
}

export function pcmOf(sound: Stereo, sampleRate: number): Pcm {
  return { sampleRate, channels: [sound.left, sound.right] };
}
