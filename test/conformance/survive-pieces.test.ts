import { afterAll, describe, expect, test } from 'vitest';
import { chooseEngine, openLossyEngine } from '../../src/audio/files/lossy/engine.ts';
import { durationSeconds, frameCount, type Pcm, slicePcm } from '../../src/audio/pcm.ts';
import { cutGrid } from '../../src/survive/code-chain.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { surviveFormat } from '../../src/survive/survive-format.ts';
import { loudMusic } from './lossy-sound.ts';

const engine = openLossyEngine();
const chosen = await chooseEngine();
const engines = [
  ['WebAssembly', engine] as const,
  ...(chosen.system ? [['the machine’s ffmpeg', openLossyEngine(chosen)] as const] : []),
];
afterAll(() => engine.free());

const music = loudMusic(24);
const short = loudMusic(6);
const options = { truePeakDbtp: -1, integratedLufs: -9 };

async function* blocks(pcm: Pcm): AsyncGenerator<Pcm> {
  for (let at = 0; at < frameCount(pcm); at += 65_536)
    yield slicePcm(pcm, at, Math.min(frameCount(pcm), at + 65_536));
}

const streamed = (pcm: Pcm) => ({
  sampleRate: pcm.sampleRate,
  channels: pcm.channels.length,
  frames: frameCount(pcm),
  blocks: blocks(pcm),
});

describe('a long sound', () => {
  for (const id of ['mp3-128', 'mp3-320', 'vorbis-q5', 'opus-128', 'sbc', 'vorbis-q2+sbc'])
    test(`${id}, in overlapping pieces: the peaks of whole coding, and nothing else is told otherwise`, async () => {
      const format = findFormat(id)!;
      const grid = cutGrid(format, music.sampleRate);
      const onGrid = (seconds: number) => Math.ceil((seconds * music.sampleRate) / grid) * grid;
      const sizes = { wholeFrames: 1, bodyFrames: onGrid(9), overlapFrames: onGrid(6) };
      const whole = await surviveFormat(streamed(music), format, engine, options);
      const pieces = await surviveFormat(streamed(music), format, engine, { ...options, sizes });
      expect(whole.pieces).toBe(1);
      expect(pieces.pieces).toBeGreaterThan(1);
      expect(Math.abs(pieces.truePeakDbtp! - whole.truePeakDbtp!)).toBeLessThan(0.05);
      expect(pieces.overs / whole.overs).toBeCloseTo(1, 1);
      expect(pieces.delaySamples).toBeCloseTo(whole.delaySamples, 1);
      expect(pieces.noise.noiseToSoundDb!).toBeCloseTo(whole.noise.noiseToSoundDb!, 0);
      expect(pieces.actualKbps / whole.actualKbps).toBeCloseTo(1, 1);
    });

  for (const id of ['aac-96', 'aac-256+sbc'])
    for (const [name, each] of engines)
      test(`${id}, ${name}: coded whole from disk, the figures of coding in memory`, async () => {
        const format = findFormat(id)!;
        const sizes = { wholeFrames: 1, bodyFrames: 1, overlapFrames: 1 };
        const memory = await surviveFormat(streamed(short), format, each, options);
        const disk = await surviveFormat(streamed(short), format, each, { ...options, sizes });
        expect(disk.truePeakDbtp).toBeCloseTo(memory.truePeakDbtp!, 6);
        expect(disk).toMatchObject({
          pieces: 1,
          overs: memory.overs,
          clip: memory.clip,
          encoder: memory.encoder,
          settings: memory.settings,
          actualKbps: memory.actualKbps,
        });
      });

  test('at another rate it is resampled on disk as in memory', async () => {
    const format = findFormat('aac-128')!;
    const high = loudMusic(3, 96_000);
    const sizes = { wholeFrames: 1, bodyFrames: 1, overlapFrames: 1 };
    const memory = await surviveFormat(streamed(high), format, engine, options);
    const disk = await surviveFormat(streamed(high), format, engine, { ...options, sizes });
    expect(disk.codedRateHz).toBe(48_000);
    expect(disk.settings).toBe(memory.settings);
    expect(disk.truePeakDbtp).toBeCloseTo(memory.truePeakDbtp!, 6);
  });

  test('the stretches that are handed out make up the sound, to the sample', async () => {
    const format = findFormat('opus-128')!;
    const grid = cutGrid(format, music.sampleRate);
    let frames = 0;
    const result = await surviveFormat(streamed(music), format, engine, {
      ...options,
      sizes: { wholeFrames: 1, bodyFrames: 300 * grid, overlapFrames: 50 * grid },
      onDecoded: (decoded) => {
        frames += frameCount(decoded);
      },
    });
    expect(result.codedRateHz).toBe(48_000);
    expect(frames).toBe(durationSeconds(music) * 48_000);
  });
});
