import { frameCount, type Pcm } from '../audio/pcm.ts';

/** The highest sample of each cell of a block, found once for all who ask where a sound is high. */
export interface CellPeaks {
  /** Frames of a cell; the last of a block may be shorter. */
  readonly cellFrames: number;
  /** Highest |sample| of all channels in each cell, linear. */
  readonly peaks: Float32Array;
}

const cellSeconds = 0.05;

export function cellPeaks({ sampleRate, channels }: Pcm): CellPeaks {
  const cellFrames = Math.max(1, Math.round(cellSeconds * sampleRate));
  const frames = frameCount({ sampleRate, channels });
  const peaks = new Float32Array(Math.ceil(frames / cellFrames));
  for (const samples of channels)
    for (let cell = 0; cell < peaks.length; cell++) {
      const end = Math.min(frames, (cell + 1) * cellFrames);
      let peak = peaks[cell];
      for (let i = cell * cellFrames; i < end; i++) {
        const x = Math.abs(samples[i]);
        if (x > peak) peak = x;
      }
      peaks[cell] = peak;
    }
  return { cellFrames, peaks };
}
