import { afterAll, describe, expect, test } from 'vitest';
import { openLossyEngine } from '../../src/audio/files/lossy/engine.ts';
import { durationSeconds, frameCount, type Pcm, slicePcm } from '../../src/audio/pcm.ts';
import { cutGrid } from '../../src/survive/code-chain.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { surviveFormat } from '../../src/survive/survive-format.ts';
import { loudMusic } from './lossy-sound.ts';

const engine = openLossyEngine();
afterAll(() => engine.free());

const music = loudMusic(24);
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

describe('a long sound in overlapping pieces', () => {
  for (const id of ['mp3-128', 'mp3-320', 'vorbis-q5', 'opus-128', 'sbc', 'vorbis-q2+sbc'])
    test(`${id}: the peaks of whole coding, and nothing else is told otherwise`, async () => {
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
