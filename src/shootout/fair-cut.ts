import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { VersionAlignment } from '../compare/change-result.ts';
import { LoudnessMeter } from '../measure/loudness.ts';
import { SoundFeed } from '../measure/sound-feed.ts';
import { TruePeakSearch } from '../measure/true-peak.ts';
import { instantiateKernels } from '../signal/kernels.ts';
import { Resampler } from '../signal/resampler.ts';
import type { Cut } from './fair-plan.ts';

/** Fade at both ends of a cut, so that it begins and ends without a click, s (common practice). */
export const fadeSeconds = 0.01;

/**
 * One section of one master: on the shared clock, the right way up and round, in stereo (mono plays on both sides), with
 * short fades. Polarity is put right only where the whole master is upside down; one channel alone upside down is a fault
 * that the maker delivered and that listeners are to hear.
 */
export function cutSection(
  master: Pcm,
  alignment: VersionAlignment,
  cut: Cut,
  frames: number,
  sampleRate: number,
): Pcm {
  const moved = onSharedClock(master, cut, frames, sampleRate);
  const ordered = alignment.swapped && moved.length === 2 ? [moved[1], moved[0]] : moved;
  const channels = ordered.length === 1 ? [ordered[0], ordered[0].slice()] : ordered;
  const sign = isUpsideDown(alignment) ? -1 : 1;
  const fade = Math.min(Math.round(fadeSeconds * sampleRate), frames >> 1);
  for (const samples of channels) {
    if (sign < 0) for (let i = 0; i < frames; i++) samples[i] = -samples[i];
    for (let i = 0; i < fade; i++) {
      const gain = 0.5 - 0.5 * Math.cos((Math.PI * (i + 0.5)) / fade);
      samples[i] *= gain;
      samples[frames - 1 - i] *= gain;
    }
  }
  return { sampleRate, channels };
}

export function isUpsideDown({ inverted }: VersionAlignment): boolean {
  return inverted.length > 0 && inverted.every(Boolean);
}

function onSharedClock(
  master: Pcm,
  { start, drift }: Cut,
  frames: number,
  sampleRate: number,
): Float32Array[] {
  // Only what the cut needs, with room for the filters on both sides.
  const step = (master.sampleRate / sampleRate) * (1 + drift);
  const margin = Math.ceil(4096 * Math.max(1, step));
  const from = Math.max(0, Math.floor(start) - margin);
  const to = Math.min(frameCount(master), Math.ceil(start + frames * step) + margin);
  const resampler = new Resampler({
    from: master.sampleRate,
    to: sampleRate,
    channels: master.channels.length,
    start: start - from,
    drift,
    frames,
  });
  const some = resampler.push(master.channels.map((samples) => samples.subarray(from, to)));
  const rest = resampler.finish();
  return some.map((samples, c) => {
    const output = new Float32Array(frames);
    output.set(samples);
    output.set(rest[c], samples.length);
    return output;
  });
}

export interface CutLevels {
  /** Integrated loudness of the cut by itself (ITU-R BS.1770-5); null when silent. */
  readonly lufs: number | null;
  /** null when silent. */
  readonly truePeakDbtp: number | null;
}

/** Loudness and true peak of a cut, as a file of its own. */
export function cutLevels(cut: Pcm): CutLevels {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, { sampleRate: cut.sampleRate, channels: cut.channels.length });
  const loudness = new LoudnessMeter(kernels, feed, cut.sampleRate);
  const truePeak = new TruePeakSearch(kernels, feed, cut.sampleRate);
  const take = (frames: number, last: boolean) => {
    loudness.take(frames);
    truePeak.take(frames, last);
  };
  feed.push(cut, take);
  feed.finish(take);
  return { lufs: loudness.finish().result.integratedLufs, truePeakDbtp: truePeak.finish().truePeakDbtp };
}
