import type { ReportItem } from '../../src/deliver/report-html.ts';
import type { Facts } from '../../src/judge/facts.ts';
import { reportOf } from '../../src/judge/report.ts';
import type { Measurement } from '../../src/measure/measurement.ts';
import type { RoundTrip } from '../../src/survive/round-trip-result.ts';
import { faultless, fit } from '../faultless.ts';
import { goodDynamics, goodLowEnd, goodStereo } from '../good-sound.ts';

const centresHz = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
  2500, 3150, 4000, 5000, 6300, 8000, 10_000, 12_500, 16_000, 20_000,
];

const steps = <T>(count: number, value: (i: number) => T): T[] =>
  Array.from({ length: count }, (_, i) => value(i));

/** A report with a bit of everything in it: made-up figures that fit together, overs, a lossy table, a failed format. */
export function sampleItem(name = 'song.wav', truePeakDbtp = 0.84): ReportItem {
  const seconds = 90;
  const overs =
    truePeakDbtp <= 0
      ? []
      : steps(14, (i) => ({
          startSeconds: 3.1 + i * 5.7,
          endSeconds: 3.1002 + i * 5.7,
          channel: i % 2,
          peakDbtp: truePeakDbtp - (i % 5) / 10,
        }));
  const measurement: Measurement = {
    sampleRate: 44_100,
    channels: 2,
    frames: 44_100 * seconds,
    seconds,
    loudness: {
      integratedLufs: -12,
      rangeLu: 5.2,
      maxMomentaryLufs: -8.1,
      maxShortTermLufs: -9.8,
      reason: null,
    },
    peak: {
      samplePeakDbfs: Math.min(0, truePeakDbtp - 0.2),
      truePeakDbtp,
      plrDb: truePeakDbtp + 12,
      crestDb: 13.4,
      overCount: overs.length,
      overs,
      clippedRunCount: 0,
      clippedRuns: [],
    },
    tone: {
      centresHz,
      levelsDb: centresHz.map((hz, i) => (i === 0 ? null : -10 - 3 * Math.abs(Math.log2(hz / 80)))),
      tiltDbPerOctave: -4.2,
      lowDb: -3.1,
      midDb: -3.7,
      highDb: -14.8,
    },
    stereo: goodStereo,
    dynamics: goodDynamics,
    lowEnd: goodLowEnd,
    sections: { sections: [], loudest: null, quietest: null },
    faults: faultless,
    fitness: fit,
    traces: {
      waveform: {
        stepSeconds: seconds / 2000,
        min: steps(2000, (i) => -0.6 - 0.3 * Math.sin(i / 90)),
        max: steps(2000, (i) => 0.6 + 0.35 * Math.sin(i / 70)),
      },
      loudness: {
        stepSeconds: 0.1,
        momentaryLufs: steps(seconds * 10, (i) => (i < 4 ? null : -12 + 3 * Math.sin(i / 40))),
        shortTermLufs: steps(seconds * 10, (i) => (i < 30 ? null : -12 + 2 * Math.sin(i / 40))),
        stepPowers: steps(seconds * 10, () => 0.07),
      },
      tone: {
        stepSeconds: 0.5,
        firstSeconds: 0.25,
        centresHz,
        levelsDb: steps(seconds * 2, (i) =>
          centresHz.map((_, band) => -30 - 2 * Math.abs(band - 10) - (i % 9)),
        ),
      },
      dynamics: { stepSeconds: 0.1, psrDb: steps(seconds * 10, (i) => (i < 30 ? null : 10)) },
      stereo: null,
    },
  };
  const lossy: RoundTrip[] = ['AAC 128', 'MP3 128'].map((format) => ({
    format,
    encoder: 'an encoder 1.0',
    settings: '-b 128',
    nominalKbps: 128,
    actualKbps: 128.4,
    delaySamples: 1024,
    truePeakDbtp: truePeakDbtp + 0.5,
    growthDb: 0.5,
    overs: truePeakDbtp > 0 ? 41 : 0,
    overSpans: [],
  }));
  const lossyFailed = [{ format: 'Opus 128', code: 'CODEC_FAILED', reason: 'The encoder stopped.' }];
  const file = {
    name,
    container: 'WAV',
    codec: 'PCM',
    sampleRate: 44_100,
    channels: 2,
    bitDepth: 16,
    frames: measurement.frames,
    seconds,
    sha256: 'ab'.repeat(32),
    tags: { title: name, artist: 'Nobody & Sons' },
    warnings: [],
  };
  const facts: Facts = { file, kind: 'master', measurement, lossy, lossyFailed };
  return { traces: measurement.traces, report: reportOf(facts) };
}
