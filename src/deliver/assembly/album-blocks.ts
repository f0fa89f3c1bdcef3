import { frameCount, type Pcm } from '../../audio/pcm.ts';
import { fadeGain } from '../../finish/fades.ts';
import { Resampler } from '../../signal/resampler.ts';
import type { AlbumPlan, PlannedRun } from './album-plan.ts';

/** Two-channel blocks of one song, at its own rate, made ready. */
export type OpenSong = (song: number) => AsyncIterable<Pcm> | Iterable<Pcm>;

const channels = 2;
/** Silence is handed out in blocks of this length, frames. */
const silentFrames = 65_536;

/**
 * The record as it plays, in blocks, at the rate of the plan: each run converted as one sound, gaps as silence, crossfades at
 * equal power. Exactly as many frames as the plan says. Memory does not grow with length but for the crossfade. Throws
 * RangeError when a song is not as long as the plan has it.
 */
export async function* albumBlocks(plan: AlbumPlan, open: OpenSong): AsyncGenerator<Pcm> {
  const { sampleRate } = plan;
  let at = 0;
  /** What the next run begins over. */
  let tail: Float32Array[] | null = null;
  for (const [i, run] of plan.runs.entries()) {
    const gap = run.startFrame - at;
    yield* silence(sampleRate, gap);
    const next = plan.runs[i + 1]?.overlapFrames ?? 0;
    const overlap: { frames: Float32Array[] | null } = { frames: null };
    yield* runBlocks(run, sampleRate, open, tail, next, overlap);
    tail = overlap.frames;
    at = run.startFrame + run.frames - next;
  }
  yield* silence(sampleRate, plan.frames - at);
}

/** One run, what was kept of the one before under its beginning; its own last `keep` frames go to `kept`. */
async function* runBlocks(
  run: PlannedRun,
  sampleRate: number,
  open: OpenSong,
  before: readonly Float32Array[] | null,
  keep: number,
  kept: { frames: Float32Array[] | null },
): AsyncGenerator<Pcm> {
  const { frames, overlapFrames } = run;
  const held = keep > 0 ? Array.from({ length: channels }, () => new Float32Array(keep)) : null;
  let done = 0;
  for await (const block of convertedRun(run, sampleRate, open)) {
    const length = frameCount(block);
    if (done + length > frames) throw new RangeError('a song is longer than was planned');
    if (before && done < overlapFrames)
      block.channels.forEach((samples, c) => {
        const end = Math.min(length, overlapFrames - done);
        for (let i = 0; i < end; i++)
          samples[i] =
            samples[i] * fadeGain('equal-power', (done + i + 0.5) / overlapFrames) + before[c][done + i];
      });
    const free = Math.max(0, Math.min(length, frames - keep - done));
    if (held)
      block.channels.forEach((samples, c) => {
        for (let i = free; i < length; i++) {
          const place = done + i - (frames - keep);
          held[c][place] = samples[i] * fadeGain('equal-power', 1 - (place + 0.5) / keep);
        }
      });
    done += length;
    if (free > 0) yield { sampleRate, channels: block.channels.map((samples) => samples.subarray(0, free)) };
  }
  if (done !== frames) throw new RangeError('a song is shorter than was planned');
  kept.frames = held;
}

/** The songs of a run one after the other, at the record's rate; the blocks may be written into. */
async function* convertedRun(run: PlannedRun, sampleRate: number, open: OpenSong): AsyncGenerator<Pcm> {
  const resampler = new Resampler({ from: run.sampleRate, to: sampleRate, channels });
  for (const song of run.songs)
    for await (const block of open(song)) {
      const ready = resampler.push(block.channels);
      if (ready[0].length > 0) yield { sampleRate, channels: ready };
    }
  const rest = resampler.finish();
  if (rest[0].length > 0) yield { sampleRate, channels: rest };
}

function* silence(sampleRate: number, frames: number): Generator<Pcm> {
  for (let left = frames; left > 0; left -= silentFrames) {
    const length = Math.min(left, silentFrames);
    yield { sampleRate, channels: Array.from({ length: channels }, () => new Float32Array(length)) };
  }
}
