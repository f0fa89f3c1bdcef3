import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { openLossyEngine } from '../../src/audio/files/lossy/engine.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { TruePeakMeter } from '../../src/measure/true-peak.ts';
import { wholePeak } from '../../src/survive/coded-peak.ts';
import { findCeiling } from '../../src/survive/find-ceiling.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { roundTrip } from '../../src/survive/round-trip.ts';
import type { LossyFormat } from '../../src/survive/round-trip-result.ts';
import { outside } from '../outside.ts';
import { loudMusic } from './lossy-sound.ts';

const engine = openLossyEngine();
afterAll(() => engine.free());

const choices = ['aac-96', 'mp3-128', 'vorbis-q5', 'opus-128', 'aac-256', 'mp3-320', 'sbc', 'opus-96'];
const limitDbtp = 0;
/** Enough for every codec to be under way for most of it; the search's claims do not depend on the length. */
const seconds = 1.1;

/** Loud and different each time: dense music, brought near or over full scale. */
function signal(seed: number): Pcm {
  const gain = 1.02 + ((seed * 7) % 11) / 50;
  const { sampleRate, channels } = loudMusic(seconds, 44_100, 2, seed);
  return { sampleRate, channels: channels.map((samples) => samples.map((x) => x * gain)) };
}

/** As a file of 24 bits would have it. */
function turnedDown(pcm: Pcm, db: number): Pcm {
  const gain = 10 ** (-db / 20);
  const channels = pcm.channels.map((samples) =>
    samples.map((x) => Math.round(x * gain * 2 ** 23) / 2 ** 23),
  );
  return { ...pcm, channels: db === 0 ? pcm.channels : channels };
}

describe('the ceiling that was found, on 30 loud signals', () => {
  for (let seed = 1; seed <= 30; seed++) {
    const formats = [0, 3].map((step): LossyFormat => findFormat(choices[(seed + step) % choices.length])!);
    test(`signal ${seed}, ${formats.map(({ label }) => label).join(' and ')}: nothing over after it, and no more than 0.15 dB lower than needed`, async () => {
      const pcm = signal(seed);
      const sound = { sampleRate: 44_100, channels: 2, frames: pcm.channels[0].length, blocks: [pcm] };
      const rows = [];
      for (const format of formats)
        rows.push({ format, decodedDbtp: await wholePeak(sound, 0, format, engine) });
      const found = await findCeiling(
        { limitDbtp, truePeakDbtp: 0, rows, atOnce: 1 },
        (format, downDb, run) => wholePeak(sound, downDb, format, engine, run),
      );
      expect(found.verified).toBe(true);
      // Made anew and coded anew, another way: no over in any format.
      for (const format of formats) {
        const { result } = await roundTrip(turnedDown(pcm, found.trimDb), format, engine);
        expect(result.overs, format.label).toBe(0);
      }
      // At most 0.15 dB above the ceiling a format does go over.
      if (found.trimDb > 0) {
        const decider = found.formats.find(({ format }) => format === found.decidedBy)!;
        const overs = decider.points.filter((point) => (point.truePeakDbtp ?? -99) > 0.001);
        const last = overs.reduce((most, point) => Math.max(most, point.trimDb), -1);
        expect(found.trimDb - last).toBeLessThanOrEqual(0.1501);
        const { result } = await roundTrip(
          turnedDown(pcm, last),
          formats.find(({ label }) => label === found.decidedBy)!,
          engine,
        );
        expect(result.truePeakDbtp).toBeGreaterThan(limitDbtp);
      }
    });
  }
});

const output = (program: string, args: string[]) => execFileSync(program, args, { maxBuffer: 1e9 });

const lame = outside('lame') && outside('mpg123');

describe('the ceiling, outside', () => {
  test.skipIf(!lame)(
    'a file at the ceiling found, through lame and mpg123, stays under the limit; above it, it does not',
    async () => {
      const folder = mkdtempSync(join(tmpdir(), 'everyroom-ceiling-'));
      try {
        const pcm = signal(3);
        const format = findFormat('mp3-192')!;
        const sound = { sampleRate: 44_100, channels: 2, frames: pcm.channels[0].length, blocks: [pcm] };
        const rows = [{ format, decodedDbtp: await wholePeak(sound, 0, format, engine) }];
        const found = await findCeiling(
          { limitDbtp, truePeakDbtp: 0, rows, atOnce: 1 },
          (each, downDb, run) => wholePeak(sound, downDb, each, engine, run),
        );
        const failed = Math.max(
          ...found.formats[0].points.filter((p) => p.truePeakDbtp! > 0.001).map((p) => p.trimDb),
        );
        const outsidePeak = async (trimDb: number): Promise<number> => {
          const wav = join(folder, 'in.wav');
          const mp3 = join(folder, 'out.mp3');
          await writeWav(wav, turnedDown(pcm, trimDb), { sampleFormat: 's24' });
          output('lame', ['--quiet', '-b', '192', wav, mp3]);
          const bytes = output('mpg123', ['-q', '-e', 'f32', '-s', mp3]);
          const all = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
          const channels = [0, 1].map((c) => all.filter((_x, i) => i % 2 === c));
          const meter = new TruePeakMeter(44_100, 2);
          meter.push({ sampleRate: 44_100, channels });
          return meter.finish().truePeakDbtp!;
        };
        expect(found.verified).toBe(true);
        expect(Math.abs((await outsidePeak(found.trimDb)) - found.formats[0].verifiedDbtp!)).toBeLessThan(
          0.1,
        );
        expect(await outsidePeak(found.trimDb)).toBeLessThan(limitDbtp + 0.1);
        expect(await outsidePeak(failed)).toBeGreaterThan(limitDbtp - 0.1);
      } finally {
        rmSync(folder, { recursive: true });
      }
    },
  );
});
