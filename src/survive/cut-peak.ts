import { frameCount, type Pcm } from '../audio/pcm.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';

/** Frames over which a cut is faded to either side: cut hard, the waveform would ring there and read too high. */
const fadeFrames = 256;

/** True peak of frames [start, end) of a sound, dBTP, with the cuts faded outside of it; null for silence. */
export function cutPeakDbtp(pcm: Pcm, start: number, end: number): number | null {
  const from = Math.max(0, start - fadeFrames);
  const to = Math.min(frameCount(pcm), end + fadeFrames);
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  const channels = pcm.channels.map((samples) => {
    const cut = samples.slice(from, to);
    // Where the sound itself begins or ends there, nothing is faded.
    if (start - fadeFrames >= 0) for (let i = 0; i < start - from; i++) cut[i] *= i / fadeFrames;
    if (end + fadeFrames <= samples.length)
      for (let i = 0; i < to - end; i++) cut[cut.length - 1 - i] *= i / fadeFrames;
    return cut;
  });
  meter.push({ sampleRate: pcm.sampleRate, channels });
  return meter.finish().truePeakDbtp;
}
