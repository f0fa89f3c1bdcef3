import type { Place, PlaceLayout } from './place.ts';
import { aWeights, bandCentresHz, bandGains } from './place-curve.ts';
import { type SongBands, songBandCount } from './song-bands.ts';

/** What of the two sides reaches a listener, by band: power = `each` * (left + right) + `common` * common. */
export interface LayoutWeights {
  readonly each: Float64Array;
  readonly common: Float64Array;
}

/** Below the first the sound of two loudspeakers adds as pressure, above the second as power, Hz (heuristic). */
const addsBelowHz = 200;
const partsAboveHz = 1000;

/** A sound in the middle keeps its level in every layout, so that only what the sides do not share can be lost. */
export function layoutWeights(layout: PlaceLayout): LayoutWeights {
  const alike = bandCentresHz.map((hertz) => {
    if (layout.kind === 'mono') return 1;
    if (layout.kind !== 'stereo') return 0;
    const share = Math.log(hertz / addsBelowHz) / Math.log(partsAboveHz / addsBelowHz);
    return 1 - Math.min(1, Math.max(0, share));
  });
  if (layout.kind === 'narrow') {
    const side = 10 ** (0.1 * layout.sideDb);
    return {
      each: new Float64Array(songBandCount).fill((1 + side) / 4),
      common: new Float64Array(songBandCount).fill((1 - side) / 2),
    };
  }
  return {
    each: Float64Array.from(alike, (c) => 1 / (2 * (1 + c))),
    common: Float64Array.from(alike, (c) => c / (1 + c)),
  };
}

/** Power of one step of a song in a place's layout, by band, full scale = 1. */
export function layoutPower(song: SongBands, step: number, weights: LayoutWeights, out: Float64Array): void {
  const at = step * songBandCount;
  for (let b = 0; b < songBandCount; b++) {
    const power =
      weights.each[b] * (song.left[at + b] + song.right[at + b]) + weights.common[b] * song.common[at + b];
    out[b] = Math.max(power, 0);
  }
}

/** Mean power of the whole song by band. */
export function meanPower(song: SongBands, weights: LayoutWeights): Float64Array {
  const mean = new Float64Array(songBandCount);
  const row = new Float64Array(songBandCount);
  for (let step = 0; step < song.steps; step++) {
    layoutPower(song, step, weights, row);
    for (let b = 0; b < songBandCount; b++) mean[b] += row[b];
  }
  return mean.map((sum) => sum / Math.max(1, song.steps));
}

/**
 * How much a place's volume has to be turned up: from full scale = 1 to mean squares over that of 20 uPa, as a power ratio,
 * so that the song's A-weighted mean level at the listener is `levelDba`. Null for silence.
 */
export function powerGainFor(song: SongBands, place: Place, levelDba: number): number | null {
  const mean = meanPower(song, layoutWeights(place.layout));
  const gains = bandGains(place.response);
  let power = 0;
  for (let b = 0; b < songBandCount; b++) power += mean[b] * gains[b] * aWeights[b];
  return power > 1e-14 ? 10 ** (0.1 * levelDba) / power : null;
}

/** Level that summing to mono takes, dB, 0 or more: of all (A-weighted), and by band; null where there is no sound. */
export function monoLossDb(song: SongBands): {
  readonly allDb: number;
  readonly bandsDb: readonly (number | null)[];
} {
  const apart = meanPower(song, layoutWeights({ kind: 'headphones' }));
  const added = meanPower(song, layoutWeights({ kind: 'mono' }));
  const loss = (before: number, after: number) => 10 * Math.log10(before / Math.max(after, before * 1e-6));
  const weighted = (powers: Float64Array) => powers.reduce((sum, power, b) => sum + power * aWeights[b], 0);
  const all = weighted(apart);
  return {
    allDb: all > 0 ? loss(all, weighted(added)) : 0,
    bandsDb: Array.from(apart, (power, b) => (power > 1e-12 ? loss(power, added[b]) : null)),
  };
}
