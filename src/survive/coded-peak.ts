import type { LossyEngine } from '../audio/lossy.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { Span } from '../measure/measurement.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { codeChain, cutGrid } from './code-chain.ts';
import { codePieces, type StreamedSound } from './code-pieces.ts';
import { cutPeakDbtp } from './cut-peak.ts';
import { gatherReel, type Reel } from './reel.ts';
import type { LossyFormat } from './round-trip-result.ts';
import { turnedDown } from './turned-down.ts';

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

/** The same of some passages only, each by itself, coded in one go with what surrounds them. */
export async function passagePeaks(
  sound: StreamedSound,
  spans: readonly Span[],
  trimDb: number,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<(number | null)[]> {
  const reel = await gatherReel(sound, spans, cutGrid(format, sound.sampleRate));
  run.progress?.(0.2);
  return codeReel(reel, trimDb, format, engine, partOfRun(run, 0.2, 1));
}

/** Codes a reel in one format; true peak of each of its passages, dBTP, in their order. */
export async function codeReel(
  reel: Reel,
  trimDb: number,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<(number | null)[]> {
  const { decoded } = await codeChain(turnedDown(reel.pcm, trimDb), format, engine, run);
  const ratio = decoded.sampleRate / reel.pcm.sampleRate;
  return reel.bodies.map(({ start, end }) =>
    cutPeakDbtp(decoded, Math.floor(start * ratio), Math.ceil(end * ratio)),
  );
}

/** The highest of some peaks; null when all are. */
export function highestPeak(peaks: readonly (number | null)[]): number | null {
  return peaks.reduce((most, peak) => (most === null || (peak !== null && peak > most) ? peak : most), null);
}
