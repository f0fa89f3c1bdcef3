import { type Compression, compress } from '../mixing/compressor.ts';
import { type Band, equalise } from '../mixing/equaliser.ts';
import { loudnessLufs } from '../mixing/loudness.ts';
import { copyOf, gainOf, type Stereo, samplePeak, scale } from '../mixing/stereo.ts';
import { applyGain, type Limit, limiterGain } from './limiter.ts';
import { peakBetween, truePeak } from './true-peak.ts';

/** What the finishing engineer of the demo decides. */
export interface Finish {
  readonly bands: readonly Band[];
  /** Written for a mix at -18 LUFS. */
  readonly compression: Compression;
  readonly targetLufs: number;
  /** 'between' reads peaks between the samples (dBTP), 'samples' does not (dBFS). */
  readonly peaks: 'between' | 'samples';
  readonly ceilingDb: number;
  readonly lookAheadSeconds?: number;
  readonly releaseSeconds?: number;
}

/** Equaliser, compressor, limiter; driven until the loudness is met within 0.05 LU or six tries have been made. */
export function master(mix: Stereo, rate: number, finish: Finish): Stereo {
  const sound = copyOf(mix);
  const sides = [sound.left, sound.right];
  for (const side of sides) equalise(side, rate, finish.bands);
  compress(sides, rate, -18 - loudnessLufs(sides, rate), finish.compression);
  const level = loudnessLufs(sides, rate);

  const limit: Limit = {
    ceiling: gainOf(finish.ceilingDb),
    lookAheadSeconds: finish.lookAheadSeconds ?? 0.004,
    releaseSeconds: finish.releaseSeconds ?? 0.06,
  };
  const peaks =
    finish.peaks === 'between'
      ? peakBetween(sound)
      : sound.left.map((x, i) => Math.max(Math.abs(x), Math.abs(sound.right[i])));
  let driveDb = finish.targetLufs - level;
  let out = sound;
  for (let turn = 0; turn < 6; turn++) {
    const drive = gainOf(driveDb);
    out = applyGain(sound, drive, limiterGain(peaks, drive, rate, limit));
    const short = finish.targetLufs - loudnessLufs([out.left, out.right], rate);
    if (Math.abs(short) < 0.05) break;
    // What the limiter takes away grows with the drive: step a little further than the shortfall.
    driveDb += short * (short > 0 ? 1.3 : 1);
  }
  // The last hundredths: the peak read at eight times the rate lands on the ceiling, never above.
  const peak = finish.peaks === 'between' ? truePeak(out) : samplePeak(out);
  scale(out, limit.ceiling / Math.max(peak, limit.ceiling * 0.999));
  return out;
}
