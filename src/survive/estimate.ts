import { CodedError } from '../audio/coded-error.ts';
import type { LossyEngine } from '../audio/lossy.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { Span } from '../measure/measurement.ts';
import { keepsLimit } from './ceiling-search.ts';
import { cutGrid } from './code-chain.ts';
import type { StreamedSound } from './code-pieces.ts';
import { codeReel, highestPeak } from './coded-peak.ts';
import { LikelyPassages } from './passages.ts';
import { gatherReel, type Reel, reelShare } from './reel.ts';
import type { LossyFormat } from './round-trip-result.ts';
import type { FormatFailure, SurviveEstimate } from './survive-report.ts';

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
/** A sound of up to so many samples (all channels) is held while its passages are cut out; a longer one is read again. */
const mostHeldSamples = 32_000_000;

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

/** Codes the likeliest passages of a sound in several formats. A format that fails is named. Rejects when aborted. */
export async function quickPeaks(
  sound: Omit<StreamedSound, 'blocks'> & { blocks(): AsyncIterable<Pcm> | Iterable<Pcm> },
  formats: readonly LossyFormat[],
  engine: LossyEngine,
  run: Run = {},
): Promise<QuickPeaks> {
  const likely = new LikelyPassages(sound.sampleRate, sound.channels);
  let held: Pcm[] | null = [];
  let frames = 0;
  for await (const block of sound.blocks()) {
    likely.push(block);
    held?.push(block);
    frames += frameCount(block);
    if (frames * sound.channels > mostHeldSamples) held = null;
  }
  const passages = likely.finish();
  const share = reelShare(passages, frames / sound.sampleRate);
  if (share > largestShare) return { passages: [], share: 1, peaks: [], failed: [] };
  const reels = new Map<number, Reel>();
  const reelOn = async (grid: number): Promise<Reel> => {
    const reel =
      reels.get(grid) ?? (await gatherReel({ ...sound, blocks: held ?? sound.blocks() }, passages, grid));
    reels.set(grid, reel);
    return reel;
  };
  const peaks: { formatId: string; format: string; truePeakDbtp: number | null }[] = [];
  const failed: FormatFailure[] = [];
  for (const [i, format] of formats.entries()) {
    const part = partOfRun(run, i / formats.length, (i + 1) / formats.length);
    try {
      const reel = await reelOn(cutGrid(format, sound.sampleRate));
      const each = await codeReel(reel, format, engine, part);
      peaks.push({ formatId: format.id, format: format.label, truePeakDbtp: highestPeak(each) });
    } catch (error) {
      if (!(error instanceof CodedError)) throw error;
      failed.push({ formatId: format.id, format: format.label, code: error.code, reason: error.message });
    }
  }
  return { passages, share, peaks, failed };
}

/**
 * How far the whole song's decoded peak may lie from that of its likeliest passages, dB (heuristic, from the demo
 * record; docs/survive.md has the figures). Above, because the highest moment may be somewhere else. AAC is another
 * matter: its encoder hands bits on from frame to frame, so that a passage by itself never gets those it had in the song.
 */
const reach = { usual: { below: 0.1, above: 0.7 }, aac: { below: 0.9, above: 1.0 } };

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
