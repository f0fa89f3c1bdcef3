import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { openLossyEngine } from '../../src/audio/files/lossy/engine.ts';
import { frameCount, type Pcm } from '../../src/audio/pcm.ts';
import { TruePeakMeter } from '../../src/measure/true-peak.ts';
import { findFormat, surviveFormats } from '../../src/survive/formats.ts';
import { roundTrip } from '../../src/survive/round-trip.ts';
import { outside } from '../outside.ts';
import { loudMusic } from './lossy-sound.ts';

const engine = openLossyEngine();
const folder = mkdtempSync(join(tmpdir(), 'everyroom-lossy-'));

afterAll(() => {
  engine.free();
  rmSync(folder, { recursive: true });
});

function truePeakDbtp(pcm: Pcm): number {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  meter.push(pcm);
  return meter.finish().truePeakDbtp!;
}

function samplePeak(pcm: Pcm): number {
  return pcm.channels.reduce(
    (peak, samples) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), peak),
    0,
  );
}

/** Error of b against a, dB below a, over the given frames. */
function errorDb(a: Pcm, b: Pcm, from: number, to: number): number {
  let [error, power] = [0, 0];
  a.channels.forEach((samples, c) => {
    for (let n = from; n < to; n++) {
      error += (samples[n] - b.channels[c][n]) ** 2;
      power += samples[n] ** 2;
    }
  });
  return 10 * Math.log10(error / power);
}

/** 16-bit WAV; `loudMusic` loses nothing in it. */
function writeWav(name: string, pcm: Pcm): string {
  const frames = frameCount(pcm);
  const channels = pcm.channels.length;
  const bytes = Buffer.alloc(44 + frames * channels * 2);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(channels, 22);
  bytes.writeUInt32LE(pcm.sampleRate, 24);
  bytes.writeUInt32LE(pcm.sampleRate * channels * 2, 28);
  bytes.writeUInt16LE(channels * 2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(frames * channels * 2, 40);
  for (let n = 0; n < frames; n++)
    for (let c = 0; c < channels; c++)
      bytes.writeInt16LE(Math.round(pcm.channels[c][n] * 32_768), 44 + (n * channels + c) * 2);
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

function planar(bytes: Buffer, sampleRate: number, channels: number): Pcm {
  const frames = Math.floor(bytes.length / (4 * channels));
  return {
    sampleRate,
    channels: Array.from({ length: channels }, (_, c) =>
      Float32Array.from({ length: frames }, (_, n) => bytes.readFloatLE((n * channels + c) * 4)),
    ),
  };
}

function output(program: string, args: string[]): Buffer {
  return execFileSync(program, args, { maxBuffer: 2 ** 28, stdio: ['ignore', 'pipe', 'ignore'] });
}

const music = loudMusic(6);

/**
 * Delay of each decoded stream, samples, and the nearness of the bit rate to what was asked.
 * MP3: LAME's encoder delay 576 and the decoder's 528 + 1 (the 'LAME tag' specification; from memory). AAC: FFmpeg's encoder
 * primes with one frame of 1024 (ISO/IEC 14496-3 frame length; from memory). Opus: libopus at 48 kHz writes a
 * pre-skip of 312 (6.5 ms look-ahead; from memory). Vorbis: none. SBC: 8 subbands, 80-tap prototype: 73 (from memory: 10 * 8 - 8 + 1).
 */
const published = { aac: 1024, mp3: 1105, vorbis: 0, opus: 312, sbc: 73 };

const lossyFormats = surviveFormats.filter(({ then }) => !then);

describe('every format, on loud music held at -1 dBFS', () => {
  const growth = new Map<string, number>();
  for (const format of lossyFormats)
    test(`${format.label}: delay as published, exact length, rate near nominal, aligned to the end`, async () => {
      const { result, decoded } = await roundTrip(music, format, engine);
      growth.set(format.id, result.growthDb!);
      const rate = format.codec === 'opus' ? 48_000 : 44_100;
      expect(decoded.sampleRate).toBe(rate);
      expect(frameCount(decoded)).toBe(6 * rate);
      expect(Math.abs(result.delaySamples - published[format.codec])).toBeLessThan(0.01);
      // Vorbis and Opus spend what the sound needs; their nominal rate is an average over all music.
      const freedom = format.codec === 'vorbis' || format.codec === 'opus' ? 1.8 : 1.03;
      expect(result.actualKbps / format.nominalKbps).toBeGreaterThan(1 / freedom);
      expect(result.actualKbps / format.nominalKbps).toBeLessThan(freedom);
      expect(result.truePeakDbtp).toBeCloseTo(truePeakDbtp(decoded), 6);
      if (format.codec !== 'opus') {
        expect(errorDb(music, decoded, 1000, 40_000)).toBeLessThan(-8);
        const end = frameCount(decoded);
        expect(errorDb(music, decoded, end - 3000, end)).toBeLessThan(-8);
      }
    });

  test('nothing clips on the way: coarse codings decode beyond full scale', async () => {
    for (const id of ['aac-96', 'mp3-128', 'vorbis-96', 'opus-96', 'sbc-328']) {
      const { result, decoded } = await roundTrip(music, findFormat(id)!, engine);
      expect(samplePeak(decoded), id).toBeGreaterThan(1.02);
      expect(result.overs, id).toBeGreaterThan(0);
    }
  });

  test('from the lowest to the highest rate of a codec the growth falls', () => {
    for (const codec of ['aac', 'mp3', 'vorbis', 'opus']) {
      const rates = lossyFormats.filter((format) => format.codec === codec);
      expect(growth.get(rates[0].id)).toBeGreaterThan(growth.get(rates.at(-1)!.id)!);
    }
  });
});

describe('against outside encoders and decoders', () => {
  const lame = outside('lame') && outside('mpg123');
  test.skipIf(!lame)('MP3: lame and mpg123, the same encoder and another decoder', async () => {
    const wav = writeWav('lame.wav', music);
    for (const kbps of [128, 320]) {
      const mp3 = join(folder, `lame-${kbps}.mp3`);
      output('lame', ['--quiet', '-b', String(kbps), wav, mp3]);
      const other = planar(output('mpg123', ['-q', '-e', 'f32', '-s', mp3]), 44_100, 2);
      const { result, decoded } = await roundTrip(music, findFormat(`mp3-${kbps}`)!, engine);
      expect(Math.abs(result.truePeakDbtp! - truePeakDbtp(other))).toBeLessThan(0.1);
      expect(frameCount(other)).toBe(frameCount(decoded));
      expect(errorDb(other, decoded, 0, frameCount(decoded))).toBeLessThan(-60);
      expect(result.actualKbps).toBeCloseTo((statSync(mp3).size * 8) / 6000, -1);
    }
  });

  const vorbis = outside('oggenc') && outside('ffmpeg');
  test.skipIf(!vorbis)(
    'Vorbis: oggenc (libvorbis of another build), decoded by the machine’s ffmpeg',
    async () => {
      const ogg = join(folder, 'q5.ogg');
      output('oggenc', ['-Q', '-q', '5', '-o', ogg, writeWav('oggenc.wav', music)]);
      const other = planar(output('ffmpeg', ['-v', 'error', '-i', ogg, '-f', 'f32le', '-']), 44_100, 2);
      const { result } = await roundTrip(music, findFormat('vorbis-160')!, engine);
      expect(Math.abs(result.truePeakDbtp! - truePeakDbtp(other))).toBeLessThan(0.1);
    },
  );

  const opus = outside('opusenc') && outside('opusdec');
  test.skipIf(!opus)('Opus: opusenc and opusdec of another libopus', async () => {
    const music48 = loudMusic(6, 48_000);
    const coded = join(folder, '128.opus');
    const raw = join(folder, 'opus.wav');
    output('opusenc', ['--quiet', '--bitrate', '128', writeWav('opusenc.wav', music48), coded]);
    output('opusdec', ['--quiet', '--float', '--rate', '48000', coded, raw]);
    const bytes = readFileSync(raw);
    const other = planar(bytes.subarray(bytes.indexOf('data') + 8), 48_000, 2);
    const { result, decoded } = await roundTrip(music48, findFormat('opus-128')!, engine);
    expect(frameCount(other)).toBe(frameCount(decoded));
    // Encoders of different years: near, not equal.
    expect(Math.abs(result.truePeakDbtp! - truePeakDbtp(other))).toBeLessThan(0.7);
    expect(errorDb(other, decoded, 0, frameCount(decoded))).toBeLessThan(-10);
  });
});

describe('every sound gives a result or says why not', () => {
  const silence: Pcm = { sampleRate: 44_100, channels: [new Float32Array(44_100), new Float32Array(44_100)] };
  const oneSample: Pcm = { sampleRate: 44_100, channels: [Float32Array.of(0.5)] };
  const sounds: [string, Pcm][] = [
    ['silence', silence],
    ['one sample', oneSample],
    ['half a frame', loudMusic(0.012)],
    ['mono', loudMusic(0.5, 48_000, 1)],
    ['96 kHz', loudMusic(0.5, 96_000)],
    ['192 kHz', loudMusic(0.25, 192_000)],
    ['22.05 kHz mono', loudMusic(0.5, 22_050, 1)],
    [
      'beyond full scale',
      { sampleRate: 44_100, channels: loudMusic(0.5).channels.map((x) => x.map((y) => y * 1.9)) },
    ],
  ];
  for (const [name, sound] of sounds)
    test(name, async () => {
      for (const id of ['aac-128', 'mp3-320', 'vorbis-160', 'opus-128', 'sbc-328']) {
        const { result, decoded } = await roundTrip(sound, findFormat(id)!, engine);
        const frames = Math.ceil((frameCount(sound) * decoded.sampleRate) / sound.sampleRate);
        expect(frameCount(decoded), id).toBe(frames);
        expect(decoded.channels.length).toBe(sound.channels.length);
        expect(decoded.channels.every((samples) => samples.every(Number.isFinite))).toBe(true);
        if (name === 'silence') expect(result.growthDb).toBeNull();
        else if (name !== 'one sample') expect(Math.abs(result.growthDb!), id).toBeLessThan(6);
      }
    });
});
