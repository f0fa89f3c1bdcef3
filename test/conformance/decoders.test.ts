import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { memorySource } from '../../src/audio/byte-source.ts';
import { CodedError } from '../../src/audio/coded-error.ts';
import { openSound } from '../../src/audio/files/open-sound.ts';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { frameCount, type Pcm } from '../../src/audio/pcm.ts';
import { openSoundStream } from '../../src/audio/sound-stream.ts';
import { outside } from '../outside.ts';

// Files coded by the usual encoders, decoded by us and by an independent decoder. Lossless must be bit-exact with
// the source. Lossy decoders may differ in the order of float additions: 1e-5 is -100 dBFS, below anything audible.

const folder = mkdtempSync(join(tmpdir(), 'decoders-'));
afterAll(() => rmSync(folder, { recursive: true }));
const at = (name: string) => join(folder, name);
const ffmpeg = outside('ffmpeg');
const flac = outside('flac');
const lame = outside('lame');
const oggenc = outside('oggenc');
const opusenc = outside('opusenc');
const opusdec = outside('opusdec');
const roundingOnly = 1e-5;

/** Twelve seconds, so that pieces of the file end in the middle of frames many times; the right channel starts late. */
const source = music(44100, 12.345);
const mono = { sampleRate: 44100, channels: source.channels.slice(0, 1) };

function music(sampleRate: number, seconds: number): Pcm {
  const frames = Math.round(sampleRate * seconds);
  let state = 99;
  const noise = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  };
  const round = (x: number) => Math.round(x * 8388608) / 8388608;
  const voice = (hz: number, startFrame: number) =>
    Float32Array.from({ length: frames }, (_, i) => {
      const t = i / sampleRate;
      const beat = Math.exp(-8 * (t % 0.5));
      return i < startFrame
        ? 0
        : round(0.5 * Math.sin(2 * Math.PI * hz * t) * (0.4 + 0.6 * beat) + 0.2 * beat * noise());
    });
  return { sampleRate, channels: [voice(220, 0), voice(331, 20_011)] };
}

beforeAll(async () => {
  await writeWav(at('24.wav'), source, { sampleFormat: 's24' });
  await writeWav(at('16.wav'), source, { sampleFormat: 's16' });
  await writeWav(at('mono.wav'), mono, { sampleFormat: 's16' });
});

const run = (program: string, ...args: string[]) => execFileSync(program, args, { stdio: 'pipe' });

/** What ffmpeg decodes, float, interleaved. */
function ffmpegDecode(path: string): Float32Array {
  const args = ['-v', 'error', '-i', path, '-f', 'f32le', '-c:a', 'pcm_f32le', '-'];
  return new Float32Array(new Uint8Array(execFileSync('ffmpeg', args, { maxBuffer: 1 << 28 })).buffer);
}

/** Greatest difference between ours and interleaved samples, ours beginning `skip` frames later. */
function difference(pcm: Pcm, other: Float32Array, skip = 0): number {
  const count = pcm.channels.length;
  let most = 0;
  pcm.channels.forEach((samples, c) => {
    samples.forEach((sample, i) => {
      most = Math.max(most, Math.abs(sample - other[(i + skip) * count + c]));
    });
  });
  return most;
}

function same(a: Pcm, b: Pcm): boolean {
  return (
    a.channels.length === b.channels.length &&
    a.channels.every((samples, c) => Buffer.from(samples.buffer).equals(Buffer.from(b.channels[c].buffer)))
  );
}

describe('lossless is bit-exact', () => {
  test.skipIf(!flac).each(['16', '24'])('FLAC of %s bits', async (bits) => {
    run('flac', '-s', '-f', '-8', at(`${bits}.wav`), '-o', at(`${bits}.flac`));
    const coded = await readSound(at(`${bits}.flac`));
    expect(coded.info).toMatchObject({
      container: 'FLAC',
      codec: 'FLAC',
      bitDepth: Number(bits),
      warnings: [],
    });
    expect(same(coded.pcm, (await readSound(at(`${bits}.wav`))).pcm)).toBe(true);
  });

  test.skipIf(!flac)('FLAC with a picture before the sound and an ID3v1 tag behind it', async () => {
    run('flac', '-s', '-f', '--padding=300000', '-b', '1152', at('16.wav'), '-o', at('padded.flac'));
    const tag = Buffer.alloc(128);
    tag.write('TAGAn invented title');
    writeFileSync(at('padded.flac'), Buffer.concat([readFileSync(at('padded.flac')), tag]));
    const coded = await readSound(at('padded.flac'));
    expect(coded.info.warnings).toEqual([]);
    expect(same(coded.pcm, (await readSound(at('16.wav'))).pcm)).toBe(true);
  });

  test.skipIf(!flac)('damage in a FLAC file costs one frame and moves nothing', async () => {
    run('flac', '-s', '-f', at('24.wav'), '-o', at('damaged.flac'));
    const bytes = readFileSync(at('damaged.flac'));
    for (let i = 0; i < 3; i++) bytes[(bytes.length / 2 + i) | 0] ^= 0x55;
    writeFileSync(at('damaged.flac'), bytes);
    const { info, pcm } = await readSound(at('damaged.flac'));
    expect(info.frames).toBe(frameCount(source));
    expect(info.warnings).toHaveLength(1);
    const changed = pcm.channels[0].reduce((sum, x, i) => sum + (x === source.channels[0][i] ? 0 : 1), 0);
    expect(changed).toBeGreaterThan(0);
    expect(changed).toBeLessThanOrEqual(4608); // the largest block the encoder uses
  });

  test.skipIf(!ffmpeg).each([
    ['s16p', '16', []],
    ['s32p', '24', []],
    ['s32p', '24', ['-movflags', '+faststart']],
  ] as const)('ALAC in MP4, %s from %s bits %j', async (format, bits, options) => {
    const coded = ['-c:a', 'alac', '-sample_fmt', format, ...options];
    run('ffmpeg', '-v', 'error', '-y', '-i', at(`${bits}.wav`), ...coded, at('alac.m4a'));
    const { info, pcm } = await readSound(at('alac.m4a'));
    expect(info).toMatchObject({ container: 'MP4', codec: 'ALAC', bitDepth: Number(bits), warnings: [] });
    expect(same(pcm, (await readSound(at(`${bits}.wav`))).pcm)).toBe(true);
  });
});

describe('lossy agrees with another decoder and has the length of the source', () => {
  const frames = frameCount(source);

  // Noise substitution is off because the noise is random in every decoder.
  test.skipIf(!ffmpeg).each([
    ['24.wav', 2, []],
    ['mono.wav', 1, []],
    ['24.wav', 2, ['-movflags', '+faststart']],
  ] as const)('AAC in MP4 from %s, %i channels %j', async (wav, channels, options) => {
    const coded = ['-c:a', 'aac', '-b:a', '160k', '-aac_pns', '0', ...options];
    run('ffmpeg', '-v', 'error', '-y', '-i', at(wav), ...coded, at('aac.m4a'));
    const { info, pcm } = await readSound(at('aac.m4a'));
    expect(info).toMatchObject({ container: 'MP4', codec: 'AAC', channels, frames, warnings: [] });
    expect(difference(pcm, ffmpegDecode(at('aac.m4a')))).toBeLessThan(roundingOnly);
  });

  // ADTS has no place for the encoder's delay: ffmpeg hands out the priming frame of 1024 samples, ours does not.
  test.skipIf(!ffmpeg)('AAC in ADTS, without its first 1024 samples', async () => {
    const coded = ['-c:a', 'aac', '-b:a', '160k', '-aac_pns', '0'];
    run('ffmpeg', '-v', 'error', '-y', '-i', at('24.wav'), ...coded, at('raw.aac'));
    const { info, pcm } = await readSound(at('raw.aac'));
    const other = ffmpegDecode(at('raw.aac'));
    expect(info).toMatchObject({ container: 'ADTS', codec: 'AAC', channels: 2, warnings: [] });
    expect(info.frames).toBe(other.length / 2 - 1024);
    expect(difference(pcm, other, 1024)).toBeLessThan(roundingOnly);
  });

  test.skipIf(!lame || !ffmpeg).each([
    ['16.wav', 2, ['-b', '128']],
    ['16.wav', 2, ['-V', '0']],
    ['mono.wav', 1, ['-m', 'm', '-b', '96']],
  ] as const)('MP3 from %s, %i channels, %j', async (wav, channels, options) => {
    run('lame', '--quiet', ...options, at(wav), at('lame.mp3'));
    const { info, pcm } = await readSound(at('lame.mp3'));
    expect(info).toMatchObject({ container: 'MP3', codec: 'MP3', channels, frames, warnings: [] });
    expect(difference(pcm, ffmpegDecode(at('lame.mp3')))).toBeLessThan(roundingOnly);
  });

  test.skipIf(!oggenc || !ffmpeg).each([
    ['24.wav', 2],
    ['mono.wav', 1],
  ] as const)('Vorbis from %s', async (wav, channels) => {
    run('oggenc', '-Q', '-q', '6', at(wav), '-o', at('vorbis.ogg'));
    const { info, pcm } = await readSound(at('vorbis.ogg'));
    expect(info).toMatchObject({ container: 'OGG', codec: 'Vorbis', channels, frames, warnings: [] });
    expect(difference(pcm, ffmpegDecode(at('vorbis.ogg')))).toBeLessThan(roundingOnly);
  });

  test.skipIf(!opusenc || !opusdec)('Opus, against the reference decoder', async () => {
    run('opusenc', '--quiet', '--bitrate', '128', at('24.wav'), at('opus.opus'));
    run('opusdec', '--quiet', '--float', '--rate', '48000', at('opus.opus'), at('opus.wav'));
    const { info, pcm } = await readSound(at('opus.opus'));
    const other = (await readSound(at('opus.wav'))).pcm;
    expect(info).toMatchObject({
      container: 'OGG',
      codec: 'Opus',
      sampleRate: 48000,
      channels: 2,
      warnings: [],
    });
    expect(info.frames).toBe(frameCount(other));
    expect(Math.abs(frameCount(pcm) - Math.round((frames * 48000) / 44100))).toBeLessThanOrEqual(1);
    const interleaved = new Float32Array(2 * frameCount(other));
    other.channels.forEach((samples, c) => {
      samples.forEach((sample, i) => {
        interleaved[2 * i + c] = sample;
      });
    });
    expect(difference(pcm, interleaved)).toBeLessThan(roundingOnly);
  });

  test.skipIf(!lame)('levels beyond full scale are not clipped', async () => {
    const loud = { ...source, channels: source.channels.map((c) => c.map((x) => Math.sign(x) * 0.999)) };
    await writeWav(at('loud.wav'), loud, { sampleFormat: 's16' });
    run('lame', '--quiet', '-b', '128', at('loud.wav'), at('loud.mp3'));
    const { pcm } = await readSound(at('loud.mp3'));
    expect(pcm.channels[0].reduce((most, x) => Math.max(most, Math.abs(x)), 0)).toBeGreaterThan(1.05);
  });
});

describe('files that cannot be decoded', () => {
  test.skipIf(!ffmpeg)('a film without sound', async () => {
    const picture = ['-f', 'lavfi', '-i', 'color=size=64x64:duration=0.2', '-c:v', 'mpeg4'];
    run('ffmpeg', '-v', 'error', '-y', ...picture, at('film.mp4'));
    await expect(readSound(at('film.mp4'))).rejects.toMatchObject({ code: 'SOUND_NO_SAMPLES' });
  });

  test.skipIf(!ffmpeg)('MP4 and WAV with a coding that is not read here', async () => {
    run('ffmpeg', '-v', 'error', '-y', '-i', at('16.wav'), '-c:a', 'ac3', at('ac3.mp4'));
    await expect(readSound(at('ac3.mp4'))).rejects.toMatchObject({ code: 'SOUND_CODEC_UNKNOWN' });
    run('ffmpeg', '-v', 'error', '-y', '-i', at('16.wav'), '-c:a', 'adpcm_ms', at('adpcm.wav'));
    await expect(readSound(at('adpcm.wav'))).rejects.toThrow(/Microsoft ADPCM \(format 0x0002\)/);
  });

  test.skipIf(!ffmpeg)('an MP4 that was never finished', async () => {
    run('ffmpeg', '-v', 'error', '-y', '-i', at('16.wav'), '-c:a', 'aac', at('cut.m4a'));
    writeFileSync(at('cut.m4a'), readFileSync(at('cut.m4a')).subarray(0, 20_000));
    await expect(readSound(at('cut.m4a'))).rejects.toMatchObject({ code: 'SOUND_TRUNCATED' });
  });
});

describe('coded files with changed or missing bytes give sound or a CodedError, soon', () => {
  const short = { sampleRate: 44100, channels: source.channels.map((c) => c.subarray(20_000, 33_000)) };
  const by = (program: string, ...args: string[]) => ({ program, args });
  const makers = {
    'fuzz.flac': by('flac', '-s', '-f', 'IN', '-o', 'OUT'),
    'fuzz.mp3': by('lame', '--quiet', 'IN', 'OUT'),
    'fuzz.ogg': by('oggenc', '-Q', 'IN', '-o', 'OUT'),
    'fuzz.opus': by('opusenc', '--quiet', 'IN', 'OUT'),
    'fuzz.aac': by('ffmpeg', '-v', 'error', '-y', '-i', 'IN', 'OUT'),
    'fuzz.m4a': by('ffmpeg', '-v', 'error', '-y', '-i', 'IN', '-movflags', '+faststart', 'OUT'),
    'alac.m4a': by('ffmpeg', '-v', 'error', '-y', '-i', 'IN', '-c:a', 'alac', 'OUT'),
  };

  for (const [name, { program, args }] of Object.entries(makers))
    test.skipIf(!outside(program))(name, async () => {
      await writeWav(at('fuzz.wav'), short, { sampleFormat: 's16' });
      run(program, ...args.map((arg) => (arg === 'IN' ? at('fuzz.wav') : arg === 'OUT' ? at(name) : arg)));
      const good = new Uint8Array(readFileSync(at(name)));
      const last = good.length - 1;
      // Two thirds of the changes hit the header, which lies at the start or, in MP4, at the end.
      const place = fc.oneof(
        fc.nat({ max: 1200 }),
        fc.nat({ max: 1200 }).map((back) => Math.max(0, last - back)),
        fc.nat({ max: last }),
      );
      const value = fc.oneof(fc.constantFrom(0, 127, 128, 255), fc.nat({ max: 255 }));
      const muted = vi.spyOn(console, 'error').mockImplementation(() => undefined); // decoders complain there
      await fc.assert(
        fc.asyncProperty(
          fc.array(fc.tuple(place, value), { maxLength: 6 }),
          fc.oneof(fc.constant(good.length), fc.nat({ max: good.length })),
          async (changes, length) => {
            const file = good.slice(0, length);
            for (const [where, byte] of changes) if (where < length) file[where] = byte;
            let samples = 0;
            try {
              const stream = await openSoundStream(memorySource(name, file));
              for await (const block of stream.blocks()) samples += frameCount(block) * block.channels.length;
            } catch (error) {
              expect(error).toBeInstanceOf(CodedError);
            }
            // A changed header may make more of the same bytes, but not without end.
            expect(samples).toBeLessThan(200 * good.length + 1_000_000);
          },
        ),
        { numRuns: 60 },
      );
      muted.mockRestore();
    });
});

test.skipIf(!lame)(
  'contents decide, not names; blocks start over and end early; tags come along',
  async () => {
    const tags = [
      '--id3v2-only',
      '--tt',
      'Harbour Lights',
      '--ta',
      'The Invented',
      '--tn',
      '3/9',
      '--ty',
      '2021',
    ];
    run('lame', '--quiet', ...tags, at('16.wav'), at('really-mp3.wav'));
    const sound = await openSound(at('really-mp3.wav'));
    try {
      expect(sound.info.codec).toBe('MP3');
      expect(await sound.tags()).toMatchObject({
        title: 'Harbour Lights',
        artist: 'The Invented',
        track: '3',
        trackTotal: '9',
      });
      let first: Pcm | undefined;
      for await (const block of sound.blocks()) {
        first = block;
        break;
      }
      const again = (await sound.blocks().next()).value as Pcm;
      expect(same(again, first as Pcm)).toBe(true);
      const fractions: number[] = [];
      for await (const block of sound.blocks({ progress: (fraction) => fractions.push(fraction) }))
        expect(frameCount(block)).toBeLessThanOrEqual(65536);
      expect(fractions).toEqual(fractions.toSorted((a, b) => a - b));
      expect(fractions.at(-1)).toBe(1);
      expect(sound.info.frames).toBe(frameCount(source));
      const stop = new AbortController();
      const stopped = sound.blocks({ signal: stop.signal });
      await stopped.next();
      stop.abort(new Error('enough'));
      await expect(stopped.next()).rejects.toThrow('enough');
    } finally {
      await sound.close();
    }
  },
);
