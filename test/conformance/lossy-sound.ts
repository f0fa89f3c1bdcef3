import type { Pcm } from '../../src/audio/pcm.ts';

/** Numbers in -1..1, the same for the same seed on every machine. */
export function noise(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    return state / 2 ** 31;
  };
}

/** First-order low-pass; `cutoff` as a share of the sample rate. */
class OnePole {
  readonly #share: number;
  #state = 0;

  constructor(cutoff: number) {
    this.#share = 1 - Math.exp(-2 * Math.PI * cutoff);
  }

  next(input: number): number {
    this.#state += this.#share * (input - this.#state);
    return this.#state;
  }
}

/**
 * A few bars of loud music: kick, snare, hats, bass and chords, saturated into a ceiling of -1 dBFS, as dense as
 * masters that grow in lossy coding are. Values are those of 16-bit samples, so that programs which read 16-bit
 * files are given the very same sound.
 */
export function loudMusic(seconds: number, sampleRate = 44_100, channels = 2, seed = 1): Pcm {
  const next = noise(seed);
  const frames = Math.round(seconds * sampleRate);
  const beat = 0.48;
  const chords = [
    [220, 277.2, 329.6],
    [174.6, 220, 261.6],
    [196, 246.9, 293.7],
  ];
  const ceiling = 10 ** (-1 / 20);
  const out = Array.from({ length: channels }, () => new Float32Array(frames));
  const bass = new OnePole(900 / sampleRate);
  const hiss = Array.from({ length: channels }, () => new OnePole(6000 / sampleRate));
  for (let n = 0; n < frames; n++) {
    const t = n / sampleRate;
    const inBeat = t % beat;
    const chord = chords[Math.floor(t / (2 * beat)) % chords.length];
    const kick = Math.sin(2 * Math.PI * (50 + 60 * Math.exp(-inBeat * 30)) * inBeat) * Math.exp(-inBeat * 9);
    const snare = Math.floor(t / beat) % 2 ? Math.exp(-inBeat * 22) : 0;
    const hat = Math.exp(-(t % (beat / 2)) * 60);
    const low = bass.next(2 * ((t * (chord[0] / 4)) % 1) - 1);
    for (let c = 0; c < channels; c++) {
      const pad = chord.reduce(
        (sum, hz, i) => sum + Math.sin(2 * Math.PI * hz * (1 + 0.002 * c) * t + i + c),
        0,
      );
      const sum = 1.1 * kick + (1.2 * snare + 0.5 * hat) * hiss[c].next(next()) + 0.6 * low + 0.25 * pad;
      out[c][n] = Math.round(ceiling * Math.tanh(3 * sum) * 32_767) / 32_768;
    }
  }
  return { sampleRate, channels: out };
}
