import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { outside } from '../outside.ts';

// Our readers and writer against sox, libsndfile and ffmpeg, sample by sample: no tolerance anywhere but where a
// 32-bit float cannot hold the stored value.

const folder = mkdtempSync(join(tmpdir(), 'pcm-readers-'));
afterAll(() => rmSync(folder, { recursive: true }));
const at = (name: string) => join(folder, name);
const sox = outside('sox');
const sndfile = outside('sndfile-convert');
const sndfileInfo = outside('sndfile-info');
const ffmpeg = outside('ffmpeg');
const ffprobe = outside('ffprobe');

const channels = 2;
const frames = 3001;

/** Seeded integers over the whole range of `bits`, with the extremes, interleaved. */
function levels(bits: number): number[] {
  let state = 12345;
  const top = 2 ** (bits - 1);
  const all = Array.from({ length: frames * channels }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * 2 * top) - top;
  });
  all.splice(0, 6, 0, -1, 1, top - 1, -top, 0);
  return all;
}

/** Headerless little-endian samples for the outside programs to wrap, and what they mean. */
function raw(coding: 'int' | 'float', bits: number): { path: string; samples: Float32Array[] } {
  const source = levels(coding === 'float' ? 24 : bits);
  const scale = 2 ** ((coding === 'float' ? 24 : bits) - 1);
  const width = bits / 8;
  const file = Buffer.alloc(source.length * width);
  // Floats go beyond full scale, as decoded lossy streams do.
  const values = source.map((level) => (coding === 'float' ? (2 * level) / scale : level));
  values.forEach((value, i) => {
    if (coding === 'int') file.writeIntLE(value, i * width, width);
    else if (bits === 32) file.writeFloatLE(value, i * 4);
    else file.writeDoubleLE(value, i * 8);
  });
  const path = at(`${coding}${bits}.raw`);
  writeFileSync(path, file);
  return {
    path,
    samples: Array.from({ length: channels }, (_, c) =>
      Float32Array.from({ length: frames }, (_, i) => {
        const value = values[i * channels + c];
        return coding === 'int' ? value / scale : value;
      }),
    ),
  };
}

function expectSame(pcm: Pcm, samples: readonly Float32Array[]): void {
  expect(pcm.channels.length).toBe(samples.length);
  pcm.channels.forEach((channel, c) => {
    expect(Buffer.from(channel.buffer).equals(Buffer.from(samples[c].buffer))).toBe(true);
  });
}

describe.skipIf(!sox)('files made by sox', () => {
  test.each([
    ['wav', 'int', 8, 'unsigned-integer', 'WAV'],
    ['wav', 'int', 16, 'signed-integer', 'WAV'],
    ['wav', 'int', 24, 'signed-integer', 'WAV'],
    ['wav', 'int', 32, 'signed-integer', 'WAV'],
    ['wav', 'float', 32, 'floating-point', 'WAV'],
    ['wav', 'float', 64, 'floating-point', 'WAV'],
    ['aiff', 'int', 8, 'signed-integer', 'AIFF'],
    ['aiff', 'int', 16, 'signed-integer', 'AIFF'],
    ['aiff', 'int', 24, 'signed-integer', 'AIFF'],
    ['aiff', 'int', 32, 'signed-integer', 'AIFF'],
    ['aifc', 'int', 16, 'signed-integer', 'AIFF-C'],
    ['aifc', 'int', 24, 'signed-integer', 'AIFF-C'],
  ] as const)('%s, %s %i bits', async (type, coding, bits, encoding, container) => {
    const made = raw(coding, bits);
    const path = at(`sox-${coding}${bits}.${type}`);
    const from = ['-t', 'raw', '-L', '-r', '44100', '-c', `${channels}`, '-b', `${bits}`];
    const kind = coding === 'float' ? 'floating-point' : 'signed-integer';
    execFileSync('sox', ['-D', '-V1', ...from, '-e', kind, made.path, '-b', `${bits}`, '-e', encoding, path]);
    const { info, pcm } = await readSound(path);
    expect(info).toMatchObject({
      container,
      sampleRate: 44100,
      channels,
      bitDepth: bits,
      frames,
      warnings: [],
    });
    // sox carries everything as 32-bit integers inside, so floats come out clipped to full scale.
    const samples =
      coding === 'int'
        ? made.samples
        : made.samples.map((c) => c.map((x) => Math.min(1 - 2 ** -31, Math.max(-1, x))));
    expectSame(pcm, samples);
  });
});

describe.skipIf(!sndfile)('files made by libsndfile', () => {
  test.each([
    ['wav', '-pcmu8', 'int', 8],
    ['wav', '-pcm24', 'int', 24],
    ['rf64', '-pcm16', 'int', 16],
    ['rf64', '-pcm24', 'int', 24],
    ['rf64', '-float32', 'float', 32],
    ['aiff', '-pcms8', 'int', 8],
    ['aiff', '-pcmu8', 'int', 8],
    ['aiff', '-pcm16', 'int', 16],
    ['aiff', '-pcm24', 'int', 24],
    ['aiff', '-pcm32', 'int', 32],
    ['aiff', '-float32', 'float', 32],
    ['aiff', '-float64', 'float', 64],
  ] as const)('%s %s', async (type, encoding, coding, bits) => {
    const made = raw(coding, bits);
    // sndfile-convert scales floats that go beyond full scale, so they are kept below it here.
    const samples = coding === 'int' ? made.samples : made.samples.map((c) => c.map((x) => x / 4));
    const carrier = at(`carrier-${coding}${bits}.wav`);
    // Our own writer makes what libsndfile reads, so this also checks the writer with a second reader.
    const sampleFormat = coding === 'float' ? 'f32' : bits <= 16 ? 's16' : bits === 24 ? 's24' : 's32';
    await writeWav(carrier, { sampleRate: 48000, channels: samples }, { sampleFormat });
    for (const endian of type === 'aiff' && bits > 8 && coding === 'int' ? ['big', 'little'] : ['file']) {
      const path = at(`sndfile-${coding}${bits}-${endian}.${type}`);
      const order = endian === 'file' ? [] : [`-endian=${endian}`];
      execFileSync('sndfile-convert', [...order, encoding, carrier, path], { stdio: 'pipe' });
      const { info, pcm } = await readSound(path);
      expect(info).toMatchObject({ sampleRate: 48000, channels, bitDepth: bits, frames, warnings: [] });
      expectSame(pcm, samples);
    }
  });
});

describe.skipIf(!ffmpeg)('files made by ffmpeg', () => {
  test.each([
    ['wav', 'pcm_s24le', 'int', 24, []],
    ['wav', 'pcm_f32le', 'float', 32, []],
    ['wav', 'pcm_f64le', 'float', 64, []],
    ['wav', 'pcm_s16le', 'int', 16, ['-rf64', 'always']],
    ['aiff', 'pcm_s16le', 'int', 16, []],
    ['aiff', 'pcm_f32be', 'float', 32, []],
    ['aiff', 'pcm_f64be', 'float', 64, []],
    ['aiff', 'pcm_s24be', 'int', 24, []],
  ] as const)('%s %s', async (type, codec, coding, bits, options) => {
    const made = raw(coding, bits);
    const path = at(`ffmpeg-${codec}.${type}`);
    const format = coding === 'int' ? `s${bits}le` : `f${bits}le`;
    const input = ['-f', format, '-ar', '96000', '-ac', `${channels}`, '-i', made.path];
    execFileSync('ffmpeg', ['-v', 'error', '-y', ...input, '-c:a', codec, ...options, path]);
    const { info, pcm } = await readSound(path);
    expect(info).toMatchObject({ sampleRate: 96000, channels, frames, warnings: [] });
    expect(info.container).toBe(options.length > 0 ? 'RF64' : info.container);
    expectSame(pcm, made.samples);
  });

  test('a stream written to a pipe, whose sizes were never filled in', async () => {
    const made = raw('int', 16);
    const path = at('pipe.wav');
    const input = ['-f', 's16le', '-ar', '44100', '-ac', `${channels}`, '-i', made.path];
    writeFileSync(path, execFileSync('ffmpeg', ['-v', 'error', ...input, '-f', 'wav', 'pipe:1']));
    const { info, pcm } = await readSound(path);
    expect(info.warnings).toHaveLength(1);
    expectSame(pcm, made.samples);
  });
});

describe('our writer, read by others', () => {
  const sound = { sampleRate: 44100, channels: raw('int', 24).samples };
  const surround = { sampleRate: 48000, channels: Array.from({ length: 6 }, () => sound.channels[0]) };

  test.skipIf(!ffmpeg).each(['s24', 's32', 'f32'] as const)(
    'ffmpeg reads %s exactly',
    async (sampleFormat) => {
      for (const pcm of [sound, surround]) {
        const path = at(`written-${sampleFormat}.wav`);
        await writeWav(path, pcm, { sampleFormat });
        const read = execFileSync('ffmpeg', [
          '-v',
          'error',
          '-i',
          path,
          '-f',
          'f32le',
          '-c:a',
          'pcm_f32le',
          '-',
        ]);
        const floats = new Float32Array(new Uint8Array(read).buffer);
        const count = pcm.channels.length;
        expect(floats.length).toBe(frames * count);
        pcm.channels.forEach((samples, c) => {
          expect(samples.every((sample, i) => sample === floats[i * count + c])).toBe(true);
        });
      }
    },
  );

  test.skipIf(!sox)('sox reads 16 bits exactly, rounded to the nearest', async () => {
    const path = at('written-16.wav');
    await writeWav(path, sound, { sampleFormat: 's16' });
    const out = at('written-16.raw');
    execFileSync('sox', ['-D', path, '-t', 'raw', '-L', '-e', 'signed-integer', '-b', '16', out]);
    const read = readFileSync(out);
    for (let i = 0; i < frames * channels; i++) {
      const level = sound.channels[i % channels][Math.floor(i / channels)] * 32768;
      expect(Math.abs(read.readInt16LE(2 * i) - Math.min(32767, level))).toBeLessThanOrEqual(0.5);
    }
  });

  test.skipIf(!sndfileInfo)('libsndfile finds nothing odd in the header', async () => {
    const path = at('written-info.wav');
    await writeWav(path, surround, { sampleFormat: 's24' });
    const said = execFileSync('sndfile-info', [path], { encoding: 'utf8' });
    expect(said).toMatch(/Frames\s*:\s*3001\b/);
    expect(said).toMatch(/Channel Mask\s*: 0x3F/);
    expect(said).not.toMatch(/should/);
  });

  test.skipIf(!ffprobe)('ffprobe names the usual six speakers', async () => {
    const path = at('written-probe.wav');
    await writeWav(path, surround, { sampleFormat: 'f32' });
    const wanted = [
      '-v',
      'error',
      '-show_entries',
      'stream=channel_layout,codec_name',
      '-of',
      'csv=p=0',
      path,
    ];
    expect(execFileSync('ffprobe', wanted, { encoding: 'utf8' })).toMatch(/pcm_f32le,5\.1/);
  });
});
