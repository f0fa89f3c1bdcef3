import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { measureSound } from '../measure/measure-sound.ts';
import type { Measurement } from '../measure/measurement.ts';
import type { Span } from '../measure/span.ts';
import type { Laid } from './change-align.ts';
import { delayAt } from './change-line.ts';
import { ClockReader } from './change-onto.ts';
import type { DynamicsChange, LengthChange, SameSong, VersionChange } from './change-result.ts';
import { toneChange, versionTone, widthChange } from './change-tone.ts';
import { isSilent, layVersions, steadyPpm } from './lay-versions.ts';

/** A head or tail that never passes this is silence: -60 dBFS (heuristic). */
const silentPeak = 1e-3;

/**
 * What changed from version `a` to version `b` of a song: a mix and a master of it, or two bounces. They are laid over
 * each other (start, drift of the clock, polarity), levelled by loudness, and compared in what both have. Different
 * rates are brought to a's, different channel counts are compared in mono.
 *
 * Holds both sounds in memory, and copies of what both have. Rejects with `run.signal.reason` when aborted.
 */
export async function changeBetween(a: Pcm, b: Pcm, run: Run = {}): Promise<VersionChange> {
  const { a: before, b: after, laid, similarity, reason } = await layVersions(a, b, partOfRun(run, 0, 0.5));
  if (!laid) return { similarity, same: null, reason };
  const same = await compareLaid(before, after, laid, partOfRun(run, 0.5, 1));
  run.progress?.(1);
  return { similarity, same, reason: null };
}

async function compareLaid(a: Pcm, b: Pcm, laid: Laid, run: Run): Promise<SameSong> {
  const { line, signs, swapped, scatterSamples, unlike } = laid;
  const shared = sharedFrames(frameCount(a), frameCount(b), laid);
  const own = slicePcm(a, shared.start, shared.end);
  const other = ontoTimeOf(a, b, laid, shared);
  const format = (pcm: Pcm) => ({
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    frames: frameCount(pcm),
  });
  const measuredA = await measureSound([own], format(own), partOfRun(run, 0, 0.3));
  const measuredB = await measureSound([other], format(other), partOfRun(run, 0.3, 0.6));
  const gainDb = gainBetween(measuredA, measuredB, own, other);
  const [toneA, toneB] = [versionTone(own), versionTone(other)];
  run.signal?.throwIfAborted();
  const whole: Span = { startSeconds: 0, endSeconds: frameCount(own) / a.sampleRate };
  const { centresHz, changeDb } = toneChange(toneA, toneB, whole, gainDb);
  const startSeconds = shared.start / a.sampleRate;
  return {
    alignment: {
      offsetSeconds: line.atStart / a.sampleRate,
      offsetSamples: line.atStart,
      driftPpm: line.slope * 1e6,
      scatterSamples,
      inverted: signs.map((sign) => sign < 0),
      swapped,
    },
    length: lengthChange(a, b, laid, shared),
    gainDb,
    tone: { centresHz, changeDb },
    sections: measuredA.sections.sections.map((section) => ({
      startSeconds: startSeconds + section.startSeconds,
      endSeconds: startSeconds + section.endSeconds,
      label: section.label,
      ...toneChange(toneA, toneB, section, gainDb),
    })),
    dynamics: dynamicsChange(measuredA, measuredB),
    width: widthChange(toneA, toneB, whole),
    unlike,
  };
}

interface Frames {
  readonly start: number;
  readonly end: number;
}

/** Frames of a that b has too. */
function sharedFrames(framesA: number, framesB: number, { line }: Laid): Frames {
  const inA = (frame: number) => (frame - line.atStart) / (1 + line.slope);
  const start = Math.max(0, Math.ceil(inA(0)));
  return { start, end: Math.max(start + 1, Math.min(framesA, Math.floor(inA(framesB)))) };
}

/** What b plays while a plays its shared frames, on a's clock, the right way up and the right way round. */
function ontoTimeOf(a: Pcm, b: Pcm, { line, signs, swapped }: Laid, { start, end }: Frames): Pcm {
  const ordered: Pcm = swapped ? { ...b, channels: [b.channels[1], b.channels[0]] } : b;
  const from = start + delayAt(line, start);
  const moved =
    Math.abs(line.slope) * 1e6 < steadyPpm
      ? wholeFrames(ordered, Math.round(start + delayAt(line, (start + end) / 2)), end - start)
      : new ClockReader(ordered, 1).read(from, 1 + line.slope, end - start);
  return {
    sampleRate: a.sampleRate,
    channels: moved.map((samples, c) => (signs[c] < 0 ? samples.map((x) => -x) : samples)),
  };
}

function wholeFrames(pcm: Pcm, from: number, frames: number): Float32Array[] {
  return pcm.channels.map((samples) => {
    const output = new Float32Array(frames);
    const first = Math.max(0, from);
    const last = Math.min(samples.length, from + frames);
    if (last > first) output.set(samples.subarray(first, last), first - from);
    return output;
  });
}

/** By loudness; by power where one is too short or too quiet for loudness. */
function gainBetween(a: Measurement, b: Measurement, own: Pcm, other: Pcm): number {
  const [from, to] = [a.loudness.integratedLufs, b.loudness.integratedLufs];
  if (from !== null && to !== null) return to - from;
  const power = (pcm: Pcm) =>
    pcm.channels.reduce((sum, samples) => samples.reduce((x, y) => x + y * y, sum), 0);
  return 10 * Math.log10(power(other) / power(own));
}

function lengthChange(a: Pcm, b: Pcm, { line }: Laid, shared: Frames): LengthChange {
  const rate = a.sampleRate;
  const [framesA, framesB] = [frameCount(a), frameCount(b)];
  const inB = (frame: number) => frame + delayAt(line, frame);
  const [head, tail] = [inB(0), framesB - inB(framesA)];
  const part = (pcm: Pcm, from: number, to: number) =>
    isSilent(slicePcm(pcm, Math.max(0, Math.ceil(from)), Math.max(0, Math.floor(to))), silentPeak);
  return {
    shared: { startSeconds: shared.start / rate, endSeconds: shared.end / rate },
    headSeconds: head / rate,
    tailSeconds: tail / rate,
    headSilent: head >= 0 ? part(b, 0, head) : part(a, 0, shared.start),
    tailSilent: tail >= 0 ? part(b, inB(framesA), framesB) : part(a, shared.end, framesA),
  };
}

function dynamicsChange(a: Measurement, b: Measurement): DynamicsChange {
  const change = (from: number | null, to: number | null) =>
    from === null || to === null ? null : to - from;
  return {
    crestDb: change(a.peak.crestDb, b.peak.crestDb),
    plrDb: change(a.peak.plrDb, b.peak.plrDb),
    rangeLu: change(a.loudness.rangeLu, b.loudness.rangeLu),
    samplePeakDb: change(a.peak.samplePeakDbfs, b.peak.samplePeakDbfs),
    truePeakDb: change(a.peak.truePeakDbtp, b.peak.truePeakDbtp),
  };
}
