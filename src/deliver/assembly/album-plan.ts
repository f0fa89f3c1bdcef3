import { divisor } from '../../signal/resampler-clock.ts';

/** A song as it goes into the record: made ready, its length known to the sample. */
export interface PlannedSong {
  /** Of the sound that goes in, Hz. */
  readonly sampleRate: number;
  /** Of that sound, at that rate. */
  readonly frames: number;
  readonly join: 'gap' | 'joined' | 'crossfade';
  readonly gapSeconds: number;
  readonly crossfadeSeconds: number;
}

/** Songs that follow each other without a break: converted as one sound, so that no boundary is heard. */
export interface PlannedRun {
  /** Indices of its songs, one after the other. */
  readonly songs: readonly number[];
  readonly sampleRate: number;
  /** Of all its songs together, at their rate. */
  readonly sourceFrames: number;
  /** Where it begins in the record, frames at the record's rate. */
  readonly startFrame: number;
  readonly frames: number;
  /** How many of its first frames lie over the end of the run before. */
  readonly overlapFrames: number;
}

/** Where each song lies; frames at the record's rate. */
export interface PlannedTrack {
  /** Where a player comes in (index 01 on a disc); on the grid. */
  readonly markFrame: number;
  /** Where the silence before it begins (index 00); null where there is none. */
  readonly pauseFrame: number | null;
  /** Where its own sound begins and ends, to the sample. */
  readonly startFrame: number;
  readonly endFrame: number;
}

export interface AlbumPlan {
  readonly sampleRate: number;
  /** Of the whole record; a whole number of the grid. */
  readonly frames: number;
  readonly runs: readonly PlannedRun[];
  readonly tracks: readonly PlannedTrack[];
}

/** Frames of a sound of `frames` at another rate: as many as the Resampler gives. */
export function framesAtRate(frames: number, from: number, to: number): number {
  const common = divisor(from, to);
  return Math.ceil((frames * (to / common)) / (from / common));
}

/**
 * Where everything lies in a record of a rate, to the sample. Gaps are silence before a song and grow by less than one grid
 * step so that the song begins on the grid; where songs touch or overlap no sample is moved, and the mark stands on the grid
 * line nearest to the place (for a crossfade its middle). Throws RangeError where there is no song, or one has no length.
 */
export function planAlbum(
  songs: readonly PlannedSong[],
  { sampleRate, gridFrames = 1 }: { readonly sampleRate: number; readonly gridFrames?: number },
): AlbumPlan {
  if (songs.length === 0 || songs.some(({ frames }) => frames <= 0))
    throw new RangeError('a record needs songs that have a length');
  const onGrid = (frame: number, round: (value: number) => number) => round(frame / gridFrames) * gridFrames;
  const runs: PlannedRun[] = [];
  const tracks: PlannedTrack[] = [];
  for (const group of grouped(songs)) {
    const { sampleRate: rate, join, gapSeconds, crossfadeSeconds } = songs[group[0]];
    const sourceFrames = group.reduce((sum, song) => sum + songs[song].frames, 0);
    const frames = framesAtRate(sourceFrames, rate, sampleRate);
    const before = runs.at(-1);
    const end = before ? before.startFrame + before.frames : 0;
    const free = before ? before.frames - before.overlapFrames : 0;
    const overlapFrames =
      before && join === 'crossfade'
        ? Math.min(Math.round(crossfadeSeconds * sampleRate), Math.floor(frames / 2), Math.floor(free / 2))
        : 0;
    const touches = before !== undefined && join !== 'gap';
    const gap = before && join === 'gap' ? Math.round(gapSeconds * sampleRate) : 0;
    const startFrame = touches ? end - overlapFrames : onGrid(end + gap, Math.ceil);
    runs.push({ songs: group, sampleRate: rate, sourceFrames, startFrame, frames, overlapFrames });
    let done = 0;
    for (const [i, song] of group.entries()) {
      const from = startFrame + Math.round((done * sampleRate) / rate);
      done += songs[song].frames;
      const to =
        i === group.length - 1 ? startFrame + frames : startFrame + Math.round((done * sampleRate) / rate);
      const pause = onGrid(end, Math.ceil);
      tracks.push({
        markFrame: onGrid(i === 0 ? from + overlapFrames / 2 : from, Math.round),
        pauseFrame: i === 0 && before && !touches && pause < startFrame ? pause : null,
        startFrame: from,
        endFrame: to,
      });
    }
  }
  const last = runs.at(-1) as PlannedRun;
  return { sampleRate, frames: onGrid(last.startFrame + last.frames, Math.ceil), runs, tracks };
}

/** Songs joined to the one before at the same rate run together. */
function grouped(songs: readonly PlannedSong[]): number[][] {
  const groups: number[][] = [];
  for (const [i, { join, sampleRate }] of songs.entries()) {
    const last = groups.at(-1);
    if (last && join === 'joined' && songs[i - 1].sampleRate === sampleRate) last.push(i);
    else groups.push([i]);
  }
  return groups;
}

/** [from, to) of each song's file: from its mark to the next, so that all files in a row are the record. */
export function trackCuts({ tracks, frames }: AlbumPlan): { readonly from: number; readonly to: number }[] {
  return tracks.map(({ markFrame }, i) => ({
    from: i === 0 ? 0 : markFrame,
    to: tracks[i + 1]?.markFrame ?? frames,
  }));
}
