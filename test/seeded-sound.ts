import type { Pcm } from '../src/audio/pcm.ts';

/** Repeatable random numbers in [0, 1) (mulberry32, public domain). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Noise of about -4.5 dB an octave from 100 Hz up, RMS near 1. */
export function warmNoise(random: () => number, frames: number, sampleRate: number): Float64Array {
  const keep = Math.exp((-2 * Math.PI * 150) / sampleRate);
  const gain = Math.sqrt(1 - keep * keep);
  let slow = 0;
  return Float64Array.from({ length: frames }, () => {
    const white = (random() + random() + random() + random() - 2) * 1.732;
    slow = keep * slow + gain * white;
    return 0.85 * slow + 0.35 * white;
  });
}

export interface MixOptions {
  /** Level of what the sides do not share, against what they do, dB. */
  readonly sideDb: number;
  readonly seconds: number;
  readonly sampleRate: number;
}

/**
 * Something like a mix: hits, a bass and a voice-like noise in the middle, two instruments panned by level, and room
 * that differs between the sides. Peaks near -3 dBFS.
 */
export function seededMix(seed: number, { sideDb, seconds, sampleRate }: MixOptions): Pcm {
  const random = seeded(seed);
  const frames = Math.round(seconds * sampleRate);
  const middle = warmNoise(random, frames, sampleRate);
  const rooms = [warmNoise(random, frames, sampleRate), warmNoise(random, frames, sampleRate)];
  const panned = [0.3 + 0.5 * random(), 0.3 + 0.5 * random()];
  const tones = panned.map(() => 180 * 2 ** (2.5 * random()));
  const bassHz = 40 + 50 * random();
  const beat = Math.round((0.35 + 0.3 * random()) * sampleRate);
  const side = 10 ** (sideDb / 20);
  const channels = [new Float32Array(frames), new Float32Array(frames)];
  let peak = 0;
  for (let n = 0; n < frames; n++) {
    const t = n / sampleRate;
    const hit = Math.exp((-18 * (n % beat)) / sampleRate);
    const common =
      0.5 * middle[n] * (0.3 + 1.5 * hit) + 0.7 * Math.sin(2 * Math.PI * bassHz * t) * (0.4 + 0.6 * hit);
    const instruments = tones.map((hz, i) => {
      const phase = 2 * Math.PI * hz * t + 3 * i;
      return 0.25 * (Math.sin(phase) + 0.5 * Math.sin(2 * phase) + 0.3 * Math.sin(3 * phase));
    });
    for (let c = 0; c < 2; c++) {
      const own = instruments[c] + panned[1 - c] * instruments[1 - c];
      const x = common + own + side * 0.9 * rooms[c][n];
      channels[c][n] = x;
      peak = Math.max(peak, Math.abs(x));
    }
  }
  for (const samples of channels) for (let n = 0; n < frames; n++) samples[n] *= 0.7 / peak;
  return { sampleRate, channels };
}
