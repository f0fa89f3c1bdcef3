import { addPart, emptyChain } from '../src/finish/chain.ts';
import { ChainRunner } from '../src/finish/chain-runner.ts';
import type { PartKindId } from '../src/finish/kinds.ts';
import { interpolationPhases } from '../src/signal/interpolation.ts';
import { seeded } from './seeded-sound.ts';

export interface Through {
  readonly sampleRate?: number;
  /** Sizes of blocks, repeated; 512 when left out. */
  readonly blocks?: readonly number[];
  /** Frames of silence after the sound; the latency when left out, which is taken out again. */
  readonly after?: number;
}

/** Channels through one part; in time with the input, as long as it when `after` is left out. */
export function throughPart(
  kind: PartKindId,
  settings: object,
  channels: readonly Float32Array[],
  { sampleRate = 48000, blocks = [512], after }: Through = {},
): Float32Array[] {
  const runner = new ChainRunner(addPart(emptyChain, kind, settings), sampleRate, channels.length);
  const late = runner.latencySamples;
  const frames = channels[0].length + late + (after ?? 0);
  const out = channels.map((samples) => {
    const longer = new Float32Array(frames);
    longer.set(samples);
    return longer;
  });
  for (let at = 0, b = 0; at < frames; b++) {
    const size = Math.max(1, blocks[b % blocks.length]);
    runner.process(out.map((samples) => samples.subarray(at, at + size)));
    at += size;
  }
  return out.map((samples) => samples.subarray(late));
}

/** Highest |waveform| on the 16x grid, 96 samples a value, everywhere. Amplitude. */
export function heightOf(samples: Float32Array, phases = interpolationPhases(16, 96, 6)): number {
  const taps = phases[0].length;
  const half = taps / 2;
  const padded = new Float32Array(samples.length + 4 * half);
  padded.set(samples, 2 * half);
  const magnitudes = padded.map(Math.abs);
  let highest = 0;
  for (let n = half; n + half < padded.length; n++) {
    // No filter here has a sum of magnitudes above 4: what cannot pass the highest so far needs no look.
    let around = 0;
    for (let k = n - half + 1; k <= n + half; k++) if (magnitudes[k] > around) around = magnitudes[k];
    if (4 * around <= highest) continue;
    for (const phase of phases) {
      let sum = 0;
      for (let k = 0; k < taps; k++) sum += phase[k] * padded[n - half + 1 + k];
      if (sum > highest) highest = sum;
      else if (-sum > highest) highest = -sum;
    }
  }
  return highest;
}

/** Pieces of what limiters dread: noise, alternating full swings, tones up to half the rate, squares, spikes, clipped noise, and signs that follow the interpolation filters. */
export function nastySound(seed: number, frames: number): Float32Array {
  const random = seeded(seed);
  const filters = interpolationPhases(16, 96, 6);
  const sound = new Float32Array(frames);
  for (let at = 0; at < frames; ) {
    const kind = Math.floor(random() * 8);
    const length = 20 + Math.floor(random() * 300);
    const level = random() * random() * 6;
    const cycles = random() * 0.5;
    const phase = random() * 7;
    const period = Math.max(2, Math.floor(cycles * 100));
    const makers = [
      () => (random() * 2 - 1) * level,
      (i: number) => (i % 2 ? -level : level),
      (i: number) => Math.sin(2 * Math.PI * cycles * i + phase) * level,
      (i: number) => (Math.floor(i / period) % 2 ? level : -level),
      (i: number) => (i % period === 0 ? level : 0),
      () => 0,
      () => Math.max(-level, Math.min(level, (random() * 2 - 1) * level * 6)),
      (i: number) => level * Math.sign(filters[Math.floor(cycles * 32) % 16][i % 96]),
    ];
    for (let i = 0; i < length && at + i < frames; i++) sound[at + i] = makers[kind](i);
    at += length;
  }
  return sound;
}

/** Response of a part to a single sample of height 1, `frames` long, from the sample itself on. */
export function impulseResponse(
  kind: PartKindId,
  settings: object,
  frames: number,
  sampleRate: number,
): Float32Array {
  return throughPart(kind, settings, [Float32Array.from({ length: frames }, (_, n) => Number(n === 0))], {
    sampleRate,
  })[0];
}

/** Gain of an impulse response at `hertz`, dB. */
export function gainAtDb(response: ArrayLike<number>, hertz: number, sampleRate: number): number {
  let re = 0;
  let im = 0;
  for (let n = 0; n < response.length; n++) {
    const angle = (2 * Math.PI * hertz * n) / sampleRate;
    re += response[n] * Math.cos(angle);
    im += response[n] * Math.sin(angle);
  }
  return 10 * Math.log10(re * re + im * im);
}

/** A sine. */
export function sine(hertz: number, amplitude: number, frames: number, sampleRate = 48000): Float32Array {
  return Float32Array.from(
    { length: frames },
    (_, n) => amplitude * Math.sin((2 * Math.PI * hertz * n) / sampleRate),
  );
}
