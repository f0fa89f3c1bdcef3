import type { LossyEngine } from '../audio/lossy.ts';
import { codedRate } from '../audio/lossy-rate.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { amplitudeToDb } from '../signal/decibels.ts';
import { cellPeaks } from './cell-peaks.ts';
import { type CodedPiece, codePieces, type StreamedSound } from './code-pieces.ts';
import { CodingSpectra } from './coding-spectra.ts';
import { normalisationTargets } from './normalisation-targets.ts';
import type { PieceSizes } from './overlapped-pieces.ts';
import { PeakMoments } from './peak-moments.ts';
import { PlayerClipTally } from './player-clip.ts';
import { PreEchoSearch } from './pre-echo.ts';
import type { LossyFormat } from './round-trip-result.ts';
import type { AtTarget, FormatSurvival } from './survive-report.ts';

/** What is measured; the words are added where the report is made. */
export type FormatFigures = Omit<FormatSurvival, 'sentence' | 'leaning'>;

export interface SurviveOptions {
  /** The sound's own figures; null for silence. */
  readonly truePeakDbtp: number | null;
  readonly integratedLufs: number | null;
  /** Told each stretch of the decoded sound, in order, to keep it. Float, aligned, at the coded rate. */
  onDecoded?(decoded: Pcm): Promise<void> | void;
  /** For tests: other sizes of pieces than pieceSizes gives. */
  readonly sizes?: PieceSizes;
}

/**
 * Codes a sound in one format for real, decodes it and says all that is said of the format. Memory is bounded by the
 * piece, not the sound. Rejects as LossyEngine.code does, and with what the blocks throw.
 */
export async function surviveFormat(
  sound: StreamedSound,
  format: LossyFormat,
  engine: LossyEngine,
  options: SurviveOptions,
  run: Run = {},
): Promise<FormatFigures> {
  const { sampleRate, channels } = sound;
  const rate = codedRate(format.codec, sampleRate);
  const changes = normalisationTargets.map(({ targetLufs }) =>
    options.integratedLufs === null ? null : targetLufs - options.integratedLufs,
  );
  const meters = {
    peak: new TruePeakMeter(rate, channels),
    clip: new PlayerClipTally(rate, channels, [0, ...changes.map((change) => change ?? 0)]),
    spectra: new CodingSpectra(rate, channels),
    preEcho: new PreEchoSearch(),
    moments: new PeakMoments(),
  };
  let last: CodedPiece | null = null;
  let [bytes, samplePeak] = [0, 0];
  for await (const piece of codePieces(sound, format, engine, { sizes: options.sizes }, run)) {
    const { sent, decoded, startFrame } = piece;
    meters.peak.push(decoded);
    const cells = cellPeaks(decoded);
    meters.clip.push(decoded, cells);
    meters.spectra.push(sent, decoded);
    meters.preEcho.push(sent, decoded, startFrame);
    meters.moments.push(decoded, startFrame, cells);
    samplePeak = cells.peaks.reduce((most, peak) => Math.max(most, peak), samplePeak);
    await options.onDecoded?.(decoded);
    bytes += piece.codedBytes;
    last = piece;
  }
  const { encoder, settings, delays, startFrame, sent, pieces } = last!;
  const seconds = (startFrame + frameCount(sent)) / rate;
  const { truePeakDbtp, overCount, overs } = meters.peak.finish();
  const [clip, ...clips] = meters.clip.finish();
  const growthDb =
    truePeakDbtp === null || options.truePeakDbtp === null ? null : truePeakDbtp - options.truePeakDbtp;
  return {
    formatId: format.id,
    format: format.label,
    encoder,
    settings,
    nominalKbps: (format.then ?? format).nominalKbps,
    actualKbps: (bytes * 8) / 1000 / seconds,
    delaySamples: delays.reduce((sum, delay) => sum + delay, 0),
    codedRateHz: rate,
    pieces,
    truePeakDbtp,
    samplePeakDbfs: samplePeak > 0 ? amplitudeToDb(samplePeak) : null,
    growthDb,
    overs: overCount,
    overSpans: overs,
    peakMoments: meters.moments.finish(),
    clip,
    atTargets: normalisationTargets.map(({ targetLufs, source }, i): AtTarget => {
      const peak = truePeakDbtp === null ? null : truePeakDbtp + (changes[i] ?? 0);
      return {
        targetLufs,
        source,
        levelChangeDb: changes[i],
        truePeakDbtp: peak,
        cannotClip: peak === null || peak <= 0,
        clip: clips[i],
      };
    }),
    ...meters.spectra.finish(),
    preEcho: meters.preEcho.finish(),
  };
}
