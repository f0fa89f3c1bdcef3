import { writeFileSync } from 'node:fs';
import { seeded } from '../seeded-sound.ts';

/** Sample values as a RIFF/WAVE file, written here by hand so that the reader is not tested against its own house. */
export interface WavOptions {
  readonly sampleRate?: number;
  readonly channels?: number;
  /** 16-bit integers or 32-bit floats. */
  readonly format?: 'int16' | 'float32';
  /** Format tag put in the header instead of the true one. */
  readonly tag?: number;
  /** Size of the data chunk put in the header instead of the true one. */
  readonly dataBytes?: number;
}

/** Bytes of a WAV file. `interleaved` holds the samples of all channels in turn. */
export function wavBytes(interleaved: ArrayLike<number>, options: WavOptions = {}): Buffer {
  const { sampleRate = 44_100, channels = 2, format = 'float32' } = options;
  const bytes = format === 'int16' ? 2 : 4;
  const data = Buffer.alloc(interleaved.length * bytes);
  for (let i = 0; i < interleaved.length; i++)
    if (format === 'int16') data.writeInt16LE(Math.round(interleaved[i] * 32_767), i * 2);
    else data.writeFloatLE(interleaved[i], i * 4);
  const header = Buffer.alloc(44);
  header.write('RIFF', 0, 'latin1');
  header.writeUInt32LE(36 + data.length, 4);
  header.write('WAVEfmt ', 8, 'latin1');
  header.writeUInt32LE(16, 16);
  header.writeUInt16LE(options.tag ?? (format === 'int16' ? 1 : 3), 20);
  header.writeUInt16LE(channels, 22);
  header.writeUInt32LE(sampleRate, 24);
  header.writeUInt32LE(sampleRate * channels * bytes, 28);
  header.writeUInt16LE(channels * bytes, 32);
  header.writeUInt16LE(bytes * 8, 34);
  header.write('data', 36, 'latin1');
  header.writeUInt32LE(options.dataBytes ?? data.length, 40);
  return Buffer.concat([header, data]);
}

export function writeWavFile(path: string, interleaved: ArrayLike<number>, options?: WavOptions): string {
  writeFileSync(path, wavBytes(interleaved, options));
  return path;
}

/** Noise that falls with frequency about as songs do, in two channels, its highest sample at `peak`. */
export function songLikeNoise(seconds: number, peak: number, sampleRate = 44_100): Float32Array {
  const next = seeded(7);
  const samples = new Float32Array(2 * Math.round(seconds * sampleRate));
  const low = [0, 0];
  const middle = [0, 0];
  for (let i = 0; i < samples.length; i++) {
    const c = i % 2;
    const white = next() + next() + next() - 1.5;
    low[c] += 0.012 * (white - low[c]);
    middle[c] += 0.15 * (white - middle[c]);
    samples[i] = 8 * low[c] + middle[c] + 0.05 * white;
  }
  const highest = samples.reduce((high, value) => Math.max(high, Math.abs(value)), 0);
  return samples.map((value) => (value * peak) / highest);
}

/** A sine in every channel. */
export function sine(
  hz: number,
  seconds: number,
  level: number,
  channels: number,
  sampleRate = 44_100,
): Float32Array {
  return Float32Array.from(
    { length: Math.round(seconds * sampleRate) * channels },
    (_, i) => level * Math.sin((2 * Math.PI * hz * Math.floor(i / channels)) / sampleRate),
  );
}
