import type { Run } from '../../audio/run.ts';
import type { Chain } from '../../finish/chain.ts';
import type { Band } from '../../finish/equaliser.ts';
import { walkBands, walkBandsCurve, walkChain } from '../../finish/walk-chain.ts';
import { wideBandNames } from '../../measure/wide-bands.ts';
import { heardThirds } from '../../places/heard-thirds.ts';
import type { Place } from '../../places/place.ts';
import { balanceOf, type PlaceBalance } from '../../places/place-balance.ts';
import { stopsNow } from '../../places/walk-notes.ts';
import type { WalkNote, WalkStopNow, WalkTapsNow } from '../../places/walk-shapes.ts';
import { solveWalk, type WalkSolution, type WalkTaps } from '../../places/walk-solve.ts';
import { audioFilePath } from '../audio-store.ts';
import { effectsOfSong } from '../places/effects.ts';
import type { WalkRecord, WalkStopRecord } from '../store/walks.ts';
import type { WalkTools } from './walk-tools.ts';

/** What a walk comes to. */
export interface WalkCorrection {
  readonly walk: WalkRecord;
  readonly stops: readonly (WalkStopNow & Pick<WalkStopRecord, 'placeId'>)[];
  readonly solution: WalkSolution;
  /** All that answer the curve, lowest first, and those that are refused, from 0. */
  readonly bands: readonly Band[];
  readonly refused: ReadonlySet<number>;
  /** What the bands that are not refused do to the third octaves, dB. */
  readonly bandsDb: readonly number[];
  readonly chain: Chain;
}

/** Solves what counts now; where a stop's place is known, by what of the song is heard there. */
export async function solvedWalk(
  tools: WalkTools,
  walk: WalkRecord,
  notes: readonly WalkNote[],
  refused: ReadonlySet<number>,
  run: Run = {},
): Promise<WalkCorrection> {
  const stops = stopsNow(walk.stops, walk.references.length, notes).map((stop, i) => ({
    ...stop,
    placeId: walk.stops[i].placeId,
  }));
  const heard = await heardIn(tools, walk, run);
  const solution = solveWalk(
    stops.map(({ id, name, trust, song, references, placeId }) => ({
      placeId: id,
      name,
      trust,
      song: tapsOf(song),
      references: references.map(tapsOf),
      heard: (placeId !== null && heard.get(placeId)) || null,
    })),
  );
  const bands = walkBands(solution.curveDb);
  return {
    walk,
    stops,
    solution,
    bands,
    refused,
    bandsDb: walkBandsCurve(bands.filter((_, i) => !refused.has(i))),
    chain: walkChain(solution.curveDb, refused),
  };
}

/** How a sound fares in places at talk-over level; kept place by place, like what the places page shows. Null for silence. */
export async function balancesOf(
  { home, workshop }: Pick<WalkTools, 'home' | 'workshop'>,
  sha256: string,
  places: readonly Place[],
  run: Run,
): Promise<PlaceBalance[] | null> {
  const file = { path: audioFilePath(home, sha256), sha256 };
  const wanted = places.map((place) => ({ place, levelDba: place.levels.talkOverDba }));
  const { effects } = await effectsOfSong(file, null, wanted, workshop, run);
  const balances = effects.flatMap(({ effect }) => (effect ? [balanceOf(effect)] : []));
  return balances.length < places.length ? null : balances;
}

/** What of each third octave of the song is heard in each place of the walk that is known. */
async function heardIn(
  tools: WalkTools,
  { stops, version }: WalkRecord,
  run: Run,
): Promise<ReadonlyMap<string, readonly number[]>> {
  const places = await tools.places();
  if (!stops.some(({ placeId }) => places.some(({ id }) => id === placeId))) return new Map();
  const balances = await balancesOf(tools, version.sha256, places, run);
  return new Map(
    (balances ?? []).map(({ placeId, levelsDb }, i) => [placeId, heardThirds(levelsDb, places[i])]),
  );
}

function tapsOf({ scales }: WalkTapsNow): WalkTaps {
  return {
    taps: Object.fromEntries(
      wideBandNames.flatMap((name) => (scales[name] === undefined ? [] : [[name, scales[name]]])),
    ),
  };
}
