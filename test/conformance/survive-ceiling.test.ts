import { afterAll, describe, expect, test } from 'vitest';
import { openLossyEngine } from '../../src/audio/files/lossy/engine.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { wholePeak } from '../../src/survive/coded-peak.ts';
import { findCeiling } from '../../src/survive/find-ceiling.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { roundTrip } from '../../src/survive/round-trip.ts';
import type { LossyFormat } from '../../src/survive/round-trip-result.ts';
import { loudMusic } from './lossy-sound.ts';

const engine = openLossyEngine('wasm');
afterAll(() => engine.free());

const choices = ['aac-96', 'mp3-128', 'vorbis-q5', 'opus-128', 'aac-256', 'mp3-320', 'sbc', 'opus-96'];
const limitDbtp = 0;

/** Loud and different each time: dense music, brought near or over full scale. */
function signal(seed: number): Pcm {
  const gain = 1.02 + ((seed * 7) % 11) / 50;
  const { sampleRate, channels } = loudMusic(2, 44_100, 2, seed);
  return { sampleRate, channels: channels.map((samples) => samples.map((x) => x * gain)) };
}

function turnedDown(pcm: Pcm, db: number): Pcm {
  const gain = 10 ** (-db / 20);
  return { ...pcm, channels: pcm.channels.map((samples) => samples.map((x) => x * gain)) };
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
