import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { Kernels } from '../signal/kernels.ts';
import { findLag, leastFoundDb, monoOf } from './find-lag.ts';
import { type SongBands, songBands } from './song-bands.ts';

/** Lead and everything else of one song, in step. */
export interface LeadAndOthers {
  readonly lead: SongBands;
  readonly others: SongBands;
}

/**
 * Tells the lead of a song from the rest by a file of one of them: it is laid over the song, brought to the level that it has
 * in it (least squares; what it lacks is taken to have nothing to do with it), and the rest is what the song has beyond it,
 * band by band. Limiting that acts on the whole alone makes the rest a little too large (heuristic).
 *
 * @param part the lead alone ('stem') or all but the lead ('instrumental'), at the song's rate
 * @returns null when the part is not in the song
 */
export function leadAndOthers(
  kernels: Kernels,
  song: Pcm,
  part: Pcm,
  how: 'stem' | 'instrumental',
): LeadAndOthers | null {
  if (part.sampleRate !== song.sampleRate) throw new RangeError('song and part must have one rate');
  const [whole, alone] = [monoOf(song), monoOf(part)];
  const { lag, overDb } = findLag(whole, alone, song.sampleRate);
  if (overDb < leastFoundDb) return null;
  const laid = {
    sampleRate: song.sampleRate,
    channels: part.channels.map((x) => shifted(x, lag, frameCount(song))),
  };
  const inPlace = monoOf(laid);
  let [cross, own] = [0, 0];
  for (let n = 0; n < whole.length; n++) {
    cross += whole[n] * inPlace[n];
    own += inPlace[n] * inPlace[n];
  }
  const gain = own > 0 ? (cross / own) ** 2 : 0;
  const all = songBands(kernels, song);
  const known = songBands(kernels, laid);
  const bands = (
    make: (row: keyof Pick<SongBands, 'left' | 'right' | 'common'>) => Float32Array,
  ): SongBands => ({
    stepSeconds: all.stepSeconds,
    steps: all.steps,
    left: make('left'),
    right: make('right'),
    common: make('common'),
  });
  const scaled = bands((row) => known[row].map((power) => gain * power));
  const rest = bands((row) =>
    all[row].map((power, i) => {
      const left = power - scaled[row][i];
      return row === 'common' ? left : Math.max(0, left);
    }),
  );
  return how === 'stem' ? { lead: scaled, others: rest } : { lead: rest, others: scaled };
}

/** The samples from `lag` on within `frames` of silence. */
function shifted(x: Float32Array, lag: number, frames: number): Float32Array {
  const out = new Float32Array(frames);
  const from = Math.max(0, -lag);
  const to = Math.min(x.length, frames - lag);
  if (to > from) out.set(x.subarray(from, to), from + lag);
  return out;
}
