import { createRequire } from 'node:module';
import { afterAll, describe, expect, test } from 'vitest';
import { BytesSource, inMemory, PcmSource } from '../../src/audio/files/lossy/byte-stream.ts';
import { chooseEngine, openLossyEngine, wasmOnly } from '../../src/audio/files/lossy/engine.ts';
import { inputMark, outputMark } from '../../src/audio/files/lossy/ffmpeg.ts';
import { SystemFfmpeg } from '../../src/audio/files/lossy/ffmpeg-system.ts';
import { WasmFfmpeg } from '../../src/audio/files/lossy/ffmpeg-wasm.ts';
import {
  givesKnownPeaks,
  knownPeaksDbfs,
  probe,
  probeKbps,
  sectionPeaksDbfs,
} from '../../src/audio/files/lossy/trust.ts';
import type { FfmpegCodec } from '../../src/audio/lossy-recipe.ts';
import { checkFormats, findFormat } from '../../src/survive/formats.ts';
import { roundTrip } from '../../src/survive/round-trip.ts';
import { outside } from '../outside.ts';
import { loudMusic } from './lossy-sound.ts';

const wasm = openLossyEngine();
const ffmpeg = outside('ffmpeg');
const either = openLossyEngine(await chooseEngine());

afterAll(() => wasm.free());

describe('the known peaks by which a machine’s ffmpeg is judged', () => {
  for (const codec of Object.keys(knownPeaksDbfs) as FfmpegCodec[])
    test(`${codec}: the WebAssembly codec gives them`, async () => {
      const { decoded } = await wasm.code(probe(), { codec, nominalKbps: probeKbps[codec] });
      sectionPeaksDbfs(decoded).forEach((peak, i) => {
        expect(peak).toBeCloseTo(knownPeaksDbfs[codec][i], 2);
      });
    });

  test.skipIf(!ffmpeg)('an ffmpeg with other peaks is not used', async () => {
    const system = (await SystemFfmpeg.find())!;
    // The default coder in place of the fast one stands for another version of the encoder.
    const other = {
      signature: 'Lavc0.0.0',
      exec: ((args, ...rest) =>
        system.exec(
          args.map((arg) => (arg === 'fast' ? 'twoloop' : arg)),
          ...rest,
        )) as SystemFfmpeg['exec'],
      free() {},
    };
    expect(await givesKnownPeaks(other, 'aac')).toBe(false);
  });
});

describe.skipIf(!ffmpeg)('the machine’s ffmpeg against WebAssembly', () => {
  const music = loudMusic(5);
  for (const format of checkFormats)
    test(`${format.label}: same figures`, async () => {
      const a = (await roundTrip(music, format, wasm)).result;
      const b = (await roundTrip(music, format, either)).result;
      expect(Math.abs(a.truePeakDbtp! - b.truePeakDbtp!)).toBeLessThan(0.1);
      expect(Math.abs(a.delaySamples - b.delaySamples)).toBeLessThan(0.01);
      expect(Math.abs(a.actualKbps / b.actualKbps - 1)).toBeLessThan(0.01);
    });
});

test('results are kept under the versions of the codecs that are installed', () => {
  const require = createRequire(import.meta.url);
  const { dependencies } = require('../../package.json') as { dependencies: Record<string, string> };
  expect(wasmOnly.wasm).toBe(
    `@ffmpeg/core ${dependencies['@ffmpeg/core']}, libav.js ${dependencies['@libav.js/variant-webcodecs']}`,
  );
});

describe('codecs that fail', () => {
  test('a trap is told as CODEC_FAILED and the next run works', async () => {
    const core = await WasmFfmpeg.open();
    const sound = loudMusic(0.5, 48_000);
    const raw = ['-f', 'f32le', '-ar', '48000', '-ac', '2', '-i', inputMark];
    // The Opus encoder in this module is known to crash.
    const crash = core.exec(
      [...raw, '-c:a', 'libopus', '-f', 'ogg', outputMark],
      new PcmSource(inMemory(sound)),
      { push() {} },
      {},
    );
    await expect(crash).rejects.toMatchObject({ code: 'CODEC_FAILED' });
    let bytes = 0;
    await core.exec(
      [...raw, '-f', 'f32le', outputMark],
      new PcmSource(inMemory(sound)),
      {
        push(piece) {
          bytes += piece.length;
        },
      },
      {},
    );
    expect(bytes).toBe(24_000 * 8);
  });

  test('nonsense in the coded stream is CODEC_FAILED with the program’s own words, in either engine', async () => {
    for (const each of [await WasmFfmpeg.open(), ffmpeg ? await SystemFfmpeg.find() : null]) {
      const nonsense = each?.exec(
        ['-f', 'ogg', '-i', inputMark, '-f', 'f32le', outputMark],
        new BytesSource(new Uint8Array(5000).fill(7)),
        { push() {} },
        {},
      );
      if (nonsense)
        await expect(nonsense).rejects.toMatchObject({ code: 'CODEC_FAILED', message: /Invalid data/ });
    }
  });

  test('more than two channels, no samples and rates below any music are refused', async () => {
    const format = findFormat('aac-128')!;
    await expect(roundTrip(loudMusic(0.1, 44_100, 6), format, wasm)).rejects.toMatchObject({
      code: 'CODEC_UNSUITABLE',
    });
    await expect(roundTrip(loudMusic(1, 4000), format, wasm)).rejects.toMatchObject({
      code: 'CODEC_UNSUITABLE',
    });
    await expect(roundTrip(loudMusic(0), format, wasm)).rejects.toMatchObject({ code: 'SOUND_NO_SAMPLES' });
  });
});

describe('stopping', () => {
  for (const choice of ['wasm', 'system'] as const)
    for (const id of ['mp3-128', 'opus-128'])
      test(`${id}, ${choice}: an abort in the middle ends it, and the engine goes on working`, async () => {
        const engine = openLossyEngine(choice === 'wasm' ? wasmOnly : await chooseEngine());
        const stop = new AbortController();
        const reason = new Error('no longer wanted');
        const stopped = roundTrip(loudMusic(4), findFormat(id)!, engine, {
          signal: stop.signal,
          progress: (fraction) => {
            if (fraction > 0.2) stop.abort(reason);
          },
        });
        await expect(stopped).rejects.toBe(reason);
        const { result } = await roundTrip(loudMusic(0.5), findFormat(id)!, engine);
        expect(result.truePeakDbtp).not.toBeNull();
      });

  test('progress never goes back and ends at 1', async () => {
    const told: number[] = [];
    await roundTrip(loudMusic(1, 96_000), findFormat('mp3-128')!, wasm, {
      progress: (fraction) => told.push(fraction),
    });
    expect(told).toEqual([...told].sort((a, b) => a - b));
    expect(told.at(-1)).toBe(1);
  });
});
