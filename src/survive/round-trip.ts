import type { LossyEngine } from '../audio/lossy.ts';
import { durationSeconds, frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { codeChain } from './code-chain.ts';
import type { LossyFormat, RoundTrip } from './round-trip-result.ts';

export interface RoundTripOutcome {
  readonly result: RoundTrip;
  /** What came back, aligned with what was sent, of its exact length, at the rate coded; float, unclipped. */
  readonly decoded: Pcm;
}

const blockFrames = 65_536;

/**
 * Encodes the sound for real, decodes it, aligns what came back and measures its true peak, with the same meter as
 * before. Rejects with CodedError (CODEC_UNSUITABLE, CODEC_FAILED, SOUND_NO_SAMPLES) or, when aborted, with
 * `run.signal.reason`.
 * @param truePeakBeforeDbtp the sound's true peak where it is known already, to save measuring it again; null: silence
 */
export async function roundTrip(
  pcm: Pcm,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
  truePeakBeforeDbtp?: number | null,
): Promise<RoundTripOutcome> {
  const coded = await codeChain(pcm, format, engine, partOfRun(run, 0, 0.75));
  const { decoded } = coded;
  run.progress?.(0.75);
  const after = measurePeak(decoded, partOfRun(run, 0.75, truePeakBeforeDbtp === undefined ? 0.87 : 1));
  const beforeDbtp =
    truePeakBeforeDbtp === undefined
      ? measurePeak(pcm, partOfRun(run, 0.87, 1)).truePeakDbtp
      : truePeakBeforeDbtp;
  return {
    decoded,
    result: {
      format: format.label,
      encoder: coded.encoder,
      settings: coded.settings,
      nominalKbps: format.nominalKbps,
      actualKbps: (coded.codedBytes * 8) / 1000 / durationSeconds(pcm),
      delaySamples: coded.delays.reduce((sum, delay) => sum + delay, 0),
      truePeakDbtp: after.truePeakDbtp,
      growthDb: after.truePeakDbtp === null || beforeDbtp === null ? null : after.truePeakDbtp - beforeDbtp,
      overs: after.overCount,
      overSpans: after.overs,
    },
  };
}

function measurePeak(pcm: Pcm, run: Run) {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  const frames = frameCount(pcm);
  for (let at = 0; at < frames; at += blockFrames) {
    run.signal?.throwIfAborted();
    meter.push(slicePcm(pcm, at, Math.min(frames, at + blockFrames)));
    run.progress?.(Math.min(1, (at + blockFrames) / frames));
  }
  return meter.finish();
}
