import type { Pcm } from '../audio/pcm.ts';
import type { Kernels } from '../signal/kernels.ts';
import { findLag, leastFoundDb, monoOf } from './find-lag.ts';
import type { Curve } from './place.ts';
import { bandCentresHz, curveDb } from './place-curve.ts';
import { songBandCount, songBands } from './song-bands.ts';

export interface ReferenceBand {
  readonly centreHz: number;
  /** Response against its middle, dB; null where too little was heard. */
  readonly db: number | null;
  readonly errorDb: number;
  readonly sure: boolean;
}

export interface ReferenceResponse {
  readonly bands: readonly ReferenceBand[];
  /** Time of the reference's start in the recording, s. */
  readonly startSeconds: number;
  /** How clearly it was found: peak of the correlation over its usual size, dB. */
  readonly foundDb: number;
}

/** A moment counts when the recording lies this far over its quietest there, and the reference this near its loudest, dB. */
const overQuietestDb = 10;
const underLoudestDb = 30;
const leastMoments = 20;
const sureWithinDb = 0.7;

/**
 * The response of a place from a recording of a known song playing there: rougher than a sweep, but nothing has to be played
 * that is not music. Levels of both are compared band by band and moment by moment; what moves in all bands at once is the
 * recorder's gain, what stays is the place. Medians, so that voices and slamming doors count little (heuristic).
 *
 * @param reference the song that was played, at the rate of the recording
 * @returns null when the song is not in the recording
 */
export function measureWithReference(
  kernels: Kernels,
  recording: Pcm,
  reference: Pcm,
  microphone: Curve | null = null,
): ReferenceResponse | null {
  const { sampleRate } = recording;
  if (reference.sampleRate !== sampleRate) throw new RangeError('recording and reference must have one rate');
  const [heard, played] = [recording, reference].map(monoOf);
  const { lag, overDb } = findLag(heard, played, sampleRate);
  if (overDb < leastFoundDb) return null;
  const [from, to] = [Math.max(0, lag), Math.min(heard.length, lag + played.length)];
  if (to - from < 2 * sampleRate) return null;
  // Left is what was played, right what was heard.
  const pair = songBands(kernels, {
    sampleRate,
    channels: [played.subarray(from - lag, to - lag), heard.subarray(from, to)],
  });
  const ratios = ratiosOf(pair.left, pair.right, pair.steps);
  const response = new Float64Array(songBandCount);
  for (let round = 0; round < 6; round++) {
    const gains = ratios.map((row) =>
      median(row.flatMap((r, b) => (Number.isNaN(r) ? [] : [r - response[b]]))),
    );
    for (let b = 0; b < songBandCount; b++) {
      const own = ratios.flatMap((row, s) =>
        Number.isNaN(row[b]) || Number.isNaN(gains[s]) ? [] : [row[b] - gains[s]],
      );
      response[b] = own.length > 0 ? median(own) : 0;
    }
  }
  const gains = ratios.map((row) =>
    median(row.flatMap((r, b) => (Number.isNaN(r) ? [] : [r - response[b]]))),
  );
  const bands = bandCentresHz.map((centreHz, b): ReferenceBand => {
    const off = ratios.flatMap((row, s) =>
      Number.isNaN(row[b]) || Number.isNaN(gains[s]) ? [] : [Math.abs(row[b] - gains[s] - response[b])],
    );
    const known = off.length >= leastMoments;
    // Standard error of a median; neighbouring moments share half of their sound.
    const errorDb = known ? 0.2 + (1.25 * 1.48 * median(off)) / Math.sqrt(off.length / 2) : 99;
    return {
      centreHz,
      db: known ? response[b] - (microphone ? curveDb(microphone, centreHz) : 0) : null,
      errorDb,
      sure: errorDb <= sureWithinDb,
    };
  });
  const sure = bands.filter((band) => band.sure);
  const mean = sure.reduce((sum, { db }) => sum + db!, 0) / Math.max(1, sure.length);
  return {
    bands: bands.map((band) => ({ ...band, db: band.db === null ? null : band.db - mean })),
    startSeconds: lag / sampleRate,
    foundDb: overDb,
  };
}

/** Heard over played by step and band, dB; NaN where the moment does not count. */
function ratiosOf(played: Float32Array, heard: Float32Array, steps: number): number[][] {
  const limits = Array.from({ length: songBandCount }, (_, b) => {
    const column = (x: Float32Array) =>
      Float32Array.from({ length: steps }, (_, s) => x[s * songBandCount + b]).sort();
    const quietest = column(heard)[Math.floor(0.03 * steps)];
    const loudest = column(played)[Math.floor(0.97 * (steps - 1))];
    return [quietest * 10 ** (0.1 * overQuietestDb), loudest * 10 ** (-0.1 * underLoudestDb)];
  });
  return Array.from({ length: steps }, (_, s) =>
    limits.map(([leastHeard, leastPlayed], b) => {
      const [x, y] = [played[s * songBandCount + b], heard[s * songBandCount + b]];
      return x > leastPlayed && y > leastHeard && x > 1e-12 ? 10 * Math.log10(y / x) : Number.NaN;
    }),
  );
}

function median(values: number[]): number {
  return values.length > 0 ? values.sort((a, b) => a - b)[values.length >> 1] : Number.NaN;
}
