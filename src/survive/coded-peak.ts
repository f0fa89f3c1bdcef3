import type { LossyEngine } from '../audio/lossy.ts';
import type { Run } from '../audio/run.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { codeChain, primingSamples } from './code-chain.ts';
import { codePieces, type StreamedSound } from './code-pieces.ts';
import { cutPeakDbtp } from './cut-peak.ts';
import type { Reel } from './reel.ts';
import type { LossyFormat } from './round-trip-result.ts';

/** True peak of a whole sound after decoding, turned down by `trimDb` before, dBTP; null for silence. Rejects as codePieces does. */
export async function wholePeak(
  sound: StreamedSound,
  trimDb: number,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<number | null> {
  let meter: TruePeakMeter | null = null;
  for await (const { decoded } of codePieces(sound, format, engine, { trimDb }, run)) {
    meter ??= new TruePeakMeter(decoded.sampleRate, decoded.channels.length);
    meter.push(decoded);
  }
  return meter?.finish().truePeakDbtp ?? null;
}

/** Codes a reel, in one format; true peak of each of its passages, dBTP, in their order. */
export async function codeReel(
  reel: Reel,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<(number | null)[]> {
  // The passages have room around them: the published delay is near enough.
  const delays = [format, ...(format.then ? [format.then] : [])].map(({ codec }) => primingSamples[codec]);
  const { decoded } = await codeChain(reel.pcm, format, engine, run, delays);
  const ratio = decoded.sampleRate / reel.pcm.sampleRate;
  return reel.bodies.map(({ start, end }) =>
    cutPeakDbtp(decoded, Math.floor(start * ratio), Math.ceil(end * ratio)),
  );
}

/** The highest of some peaks; null when all are. */
export function highestPeak(peaks: readonly (number | null)[]): number | null {
  return peaks.reduce((most, peak) => (most === null || (peak !== null && peak > most) ? peak : most), null);
}
