import type { LossyEngine } from '../audio/lossy.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Run } from '../audio/run.ts';
import type { Span } from '../measure/measurement.ts';
import { keepsLimit } from './ceiling-search.ts';
import { cutGrid } from './code-chain.ts';
import { codeReel, highestPeak } from './coded-peak.ts';
import { LikelyPassages } from './passages.ts';
import { cutStretches, gatherReel, reelShare, type Stretch } from './reel.ts';
import type { LossyFormat } from './round-trip-result.ts';
import type { FormatFailure, SurviveEstimate } from './survive-report.ts';

/** The passages of a sound likeliest to go over, cut out of it. */
export interface LikelyStretches {
  readonly passages: readonly Span[];
  /** Share of the sound that they are; 1, and nothing cut out, when the whole is as quick. */
  readonly share: number;
  readonly sampleRate: number;
  readonly channels: number;
  /** Of the whole sound. */
  readonly frames: number;
  readonly stretches: readonly Stretch[];
}

/** What the likeliest passages gave. */
export interface QuickPeaks {
  readonly passages: readonly Span[];
  /** Share of the song that was coded; 1, and nothing coded, when the whole is as quick. */
  readonly share: number;
  readonly peaks: readonly { formatId: string; format: string; truePeakDbtp: number | null }[];
  readonly failed: readonly FormatFailure[];
}

/** When the passages are more than this share of the song, the song itself is as quick. */
const largestShare = 0.5;

/**
 * What the quick answer is taken from: the lowest rate of each codec, whose peaks are the highest or nearly so. Two in
 * series only where their first codec is not tried by itself.
 */
export function coarsestFormats(formats: readonly LossyFormat[]): LossyFormat[] {
  const rank = ({ then, nominalKbps }: LossyFormat) => (then ? 10_000 : 0) + nominalKbps;
  return formats.filter(
    (format) => !formats.some((other) => other.codec === format.codec && rank(other) < rank(format)),
  );
}

/** Reads a sound twice, to find its likeliest passages and to cut them out so that each of the formats can code them. */
export async function cutLikely(
  sound: { sampleRate: number; channels: number; blocks(): AsyncIterable<Pcm> | Iterable<Pcm> },
  formats: readonly LossyFormat[],
): Promise<LikelyStretches> {
  const { sampleRate, channels } = sound;
  const likely = new LikelyPassages(sampleRate, channels);
  let frames = 0;
  for await (const block of sound.blocks()) {
    likely.push(block);
    frames += frameCount(block);
  }
  const passages = likely.finish();
  const share = reelShare(passages, frames / sampleRate);
  const about = { sampleRate, channels, frames };
  if (share > largestShare) return { ...about, passages: [], share: 1, stretches: [] };
  const slack = Math.max(0, ...formats.map((format) => cutGrid(format, sampleRate)));
  const stretches = await cutStretches({ sampleRate, blocks: sound.blocks() }, passages, slack);
  return { ...about, passages, share, stretches };
}

/** Highest true peak of the likeliest passages in a format, dBTP; null for silence. Rejects as LossyEngine.code does. */
export async function likelyPeak(
  likely: LikelyStretches,
  format: LossyFormat,
  engine: LossyEngine,
  run: Run = {},
): Promise<number | null> {
  const reel = gatherReel(likely, likely.stretches, likely.passages, cutGrid(format, likely.sampleRate));
  return highestPeak(await codeReel(reel, format, engine, run));
}

/**
 * How far the whole song's decoded peak may lie from that of its likeliest passages, dB (heuristic, from the demo
 * record; docs/survive.md has the figures). Above, because the highest moment may be somewhere else. AAC is another
 * matter: its encoder hands bits on from frame to frame, so that a passage by itself never gets those it had in the song.
 */
const reach = { usual: { below: 0.1, above: 0.9 }, aac: { below: 0.8, above: 1.4 } };

function reachOf(formatId: string): { below: number; above: number } {
  return formatId.startsWith('aac') ? reach.aac : reach.usual;
}

/** The quick answer from what the passages gave; its sentence is added where the report is made. */
export function estimateFrom(
  { passages, share, peaks, failed }: QuickPeaks,
  limitDbtp: number,
): Omit<SurviveEstimate, 'sentence'> {
  const formats = peaks.map((each) => ({
    ...each,
    lowDbtp: each.truePeakDbtp === null ? null : each.truePeakDbtp - reachOf(each.formatId).below,
    highDbtp: each.truePeakDbtp === null ? null : each.truePeakDbtp + reachOf(each.formatId).above,
  }));
  const trim = (all: readonly (number | null)[]): number => {
    const peak = highestPeak(all);
    return peak === null || keepsLimit(peak, limitDbtp) ? 0 : peak - limitDbtp;
  };
  return {
    passages: [...passages],
    share,
    formats,
    failed: [...failed],
    trimDb: trim(formats.map((format) => format.truePeakDbtp)),
    lowTrimDb: trim(formats.map((format) => format.lowDbtp)),
    highTrimDb: trim(formats.map((format) => format.highDbtp)),
  };
}
