import type { LossyCodec, LossyEngine } from '../audio/lossy.ts';
import { durationSeconds, frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { findDelay } from '../compare/align.ts';
import { shiftPcm } from '../compare/align-shift.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import type { LossyFormat, RoundTrip } from './round-trip-result.ts';

/**
 * By how much each codec's decoded stream comes late, samples at the coded rate. It only guides the alignment where
 * the sound itself leaves the choice open (a steady tone, silence); the delay reported is measured.
 * AAC: 1024, one frame of the encoder used here; MP3: 576 of LAME + 528 + 1 of any decoder; Opus: pre-skip 312 at 48 kHz
 * (6.5 ms, RFC 7845 §4.2 asks to carry it; the figure is libopus's); Vorbis: none; SBC: 73 of its filter bank.
 */
const primingSamples: Record<LossyCodec, number> = { aac: 1024, mp3: 1105, vorbis: 0, opus: 312, sbc: 73 };

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
  const coded = await engine.code(pcm, format, partOfRun(run, 0, 0.7));
  run.signal?.throwIfAborted();
  const priming = primingSamples[format.codec];
  const delay = findDelay(coded.sent, coded.decoded, { expectedSamples: priming });
  const delaySamples = delay?.delaySamples ?? priming;
  const decoded = shiftPcm(coded.decoded, delaySamples, frameCount(coded.sent));
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
      delaySamples,
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
