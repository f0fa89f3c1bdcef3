import { amplitudeToDb } from '../../../signal/decibels.ts';
import { type FfmpegCodec, ffmpegRecipe } from '../../lossy-recipe.ts';
import { frameCount, type Pcm } from '../../pcm.ts';
import { inMemory, PcmSink } from './byte-stream.ts';
import type { Ffmpeg } from './ffmpeg.ts';
import { codeWithFfmpeg } from './ffmpeg-codec.ts';

/**
 * A machine's ffmpeg may have other versions of the encoders than the WebAssembly ones, and then other figures.
 * Instead of trusting version numbers it is asked to code a short known sound: it is used for a codec only when the
 * decoded peaks of every section agree with what the WebAssembly codecs gave.
 */
export const probeKbps: Record<FfmpegCodec, number> = { aac: 128, mp3: 128, vorbis: 160, sbc: 328 };

/** Peaks of the probe's sections after the WebAssembly codecs, dBFS. Kept true by test/conformance/lossy-engines.test.ts. */
export const knownPeaksDbfs: Record<FfmpegCodec, readonly number[]> = {
  aac: [1.322, 1.994, 3.134, 1.744, 4.032, 2.483, 2.709, 2.678],
  mp3: [1.078, 1.623, 2.329, 1.754, 2.478, 2.727, 1.631, 2.617],
  vorbis: [1.198, 1.966, 2.382, 1.42, 3.314, 1.221, 2.075, 2.647],
  sbc: [0.515, 1.084, 1.563, 0.562, 1.41, 0.662, 0.856, 1.358],
};

/** Most that a section's peak may differ, dB. */
const toleranceDb = 0.05;

/** Whether `ffmpeg` codes the probe to the known peaks; false too when it cannot code it at all. */
export async function givesKnownPeaks(ffmpeg: Ffmpeg, codec: FfmpegCodec): Promise<boolean> {
  const choice = { codec, nominalKbps: probeKbps[codec] };
  try {
    const [sound, recipe] = [probe(), ffmpegRecipe(choice)];
    const sink = new PcmSink(sound.channels.length, frameCount(sound) + 8192, 1 / recipe.gain);
    await codeWithFfmpeg(ffmpeg, inMemory(sound), choice, recipe, sink, {});
    const peaks = sectionPeaksDbfs(sink.finish(sound.sampleRate));
    return knownPeaksDbfs[codec].every((known, i) => Math.abs(known - peaks[i]) <= toleranceDb);
  } catch {
    return false;
  }
}

const sections = 8;
const sectionFrames = 9600;

/**
 * 1.6 s of dark noise in stereo at 48 kHz, swelling and hard-limited, made by additions and multiplications only, so
 * that it is the same on every machine.
 */
export function probe(): Pcm {
  let seed = 20_011;
  let slow = 0;
  let side = 0;
  const channels = [new Float32Array(sections * sectionFrames), new Float32Array(sections * sectionFrames)];
  for (let i = 0; i < channels[0].length; i++) {
    seed = (Math.imul(seed, 1_664_525) + 1_013_904_223) | 0;
    const white = seed / 2 ** 31;
    slow += 0.15 * (white - slow);
    if (i % 3 === 0) side += 0.05 * (white - side);
    const swell = 1 + ((i % 24_000) / 24_000) * 4;
    channels[0][i] = Math.max(-0.9, Math.min(0.9, swell * (slow + side)));
    channels[1][i] = Math.max(-0.9, Math.min(0.9, swell * (slow - side)));
  }
  return { sampleRate: 48_000, channels };
}

/** Highest |sample| of each section of a decoded probe, both channels, dBFS. */
export function sectionPeaksDbfs(decoded: Pcm): number[] {
  return Array.from({ length: sections }, (_, section) => {
    let peak = 0;
    const end = Math.min(frameCount(decoded), (section + 1) * sectionFrames);
    for (const samples of decoded.channels)
      for (let i = section * sectionFrames; i < end; i++) peak = Math.max(peak, Math.abs(samples[i]));
    return amplitudeToDb(peak);
  });
}
